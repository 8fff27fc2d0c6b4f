package habitat

import "slices"

// layerBytes counts the planes of the further layers, a cell: one for each
// field of a table of evidence and one for all together, valley flatness,
// access and keep-out ground 1 each; of each host raster trees 2 and weight 1,
// of tree records trees 2 and dead share 1 for each host and one weight. What
// is held only while they are read is less than the water planes, which come
// later. A table or profile that cannot be read is reported elsewhere.
func (s *Survey) layerBytes() int64 {
	n := 0
	for i, e := range s.evidenceLayers() {
		if i == 0 {
			n++
		}
		if t, err := e.loadTable(); err == nil {
			n += len(t.Fields())
		}
	}
	for _, there := range []bool{s.Evidence.ValleyFlatness, len(s.Access) > 0, len(s.KeepOut) > 0} {
		if there {
			n++
		}
	}
	n += 3 * len(s.Inventory.Rasters)
	if t := s.Inventory.Trees; t.Path != "" {
		hosts := len(t.Covers)
		if p, err := s.LoadProfile(); err == nil && (hosts == 0 || slices.Contains(t.Covers, "all")) {
			hosts = len(p.Hosts)
		}
		n += 3*hosts + 1
	}
	return int64(n)
}
