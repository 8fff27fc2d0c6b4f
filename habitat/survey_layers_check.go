package habitat

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"rillwood/habitat/access"
)

func at(list string, i int) string { return fmt.Sprintf("%s[%d]", list, i) }

// checkLayers checks the sections of further layers.
func (s *Survey) checkLayers() error {
	for _, check := range []func() error{s.checkEvidence, s.checkInventory, s.checkAccess, s.checkKeepOut, s.checkApproach} {
		if err := check(); err != nil {
			return err
		}
	}
	for _, l := range s.layers() {
		if c := l.spec.CRS; c != "" && !epsgCode.MatchString(c) {
			return wrong(l.field+".crs", "expected EPSG: and a number, such as EPSG:26918, found %q", oneLine(c))
		}
	}
	return nil
}

// layerNamed refuses settings of a layer whose path is missing.
func layerNamed(field string, l LayerSpec, more bool) error {
	if strings.TrimSpace(l.Path) == "" && (l.Path != "" || more || l != LayerSpec{}) {
		return wrong(field+".path", "missing, though other settings of the layer are given")
	}
	return nil
}

func (s *Survey) checkEvidence() error {
	check := func(field, table string, e EvidenceLayer) error {
		more := e.Name != "" || e.Table != "" || len(e.Fields) > 0 || e.Unknown != "" || e.Nodata != nil
		if err := layerNamed(field, e.LayerSpec, more); err != nil {
			return err
		}
		if e.Path == "" {
			return nil
		}
		if e.Unknown != "" {
			if err := oneOf(field+".unknown", e.Unknown, "neutral", "stop"); err != nil {
				return err
			}
		}
		if e.Table == "" && table == "" {
			return wrong(field+".table", "missing; name a CSV (field,value,shift,meaning,source) that says what the layer's values weigh, or %s", quoted(evidenceTables))
		}
		if e.Table != "" && !isPath(e.Table) {
			return oneOf(field+".table", e.Table, evidenceTables...)
		}
		return nil
	}
	e := s.Evidence
	if err := check("evidence.soils", "soils", e.Soils); err != nil {
		return err
	}
	if err := check("evidence.flood_zones", "flood-zones", e.FloodZones); err != nil {
		return err
	}
	names := map[string]bool{}
	for i, l := range e.Layers {
		field := at("evidence.layers", i)
		if err := check(field, "", l); err != nil {
			return err
		}
		if l.Path == "" {
			return wrong(field+".path", "missing; name a polygon layer or a class raster")
		}
		if strings.TrimSpace(l.Name) == "" {
			return wrong(field+".name", "missing; say in a word or two what the layer is, such as geology")
		}
		if names[l.Name] {
			return wrong(field+".name", "%q is the name of two layers", oneLine(l.Name))
		}
		names[l.Name] = true
	}
	return nil
}

var evidenceTables = []string{"soils", "flood-zones", "inside"}

func quoted(list []string) string { return strings.Join(list, ", ") }

func (s *Survey) checkInventory() error {
	inv := s.Inventory
	if err := within("inventory.blend", inv.BlendM, 0, 10_000, "metres"); err != nil {
		return err
	}
	for i, r := range inv.Rasters {
		field := at("inventory.rasters", i)
		if len(r.Path) == 0 || slices.Contains(r.Path, "") {
			return wrong(field+".path", "missing; name the raster of this host")
		}
		if r.Host == "" {
			return wrong(field+".host", "missing; give the id of a host of the profile, such as american-elm")
		}
		if err := oneOf(field+".measure", r.Measure, "basal-area", "likelihood", "trees-ha"); err != nil {
			return err
		}
		switch {
		case r.Measure == "basal-area":
			if err := oneOf(field+".unit", r.Unit, "m2/ha", "ft2/ac"); err != nil {
				return err
			}
		case r.Unit != "" || r.StemCm != 0:
			return wrong(field+".unit", "unit and stem_cm belong to basal-area")
		}
		if r.StemCm != 0 {
			if err := within(field+".stem_cm", r.StemCm, 5, 200, "cm"); err != nil {
				return err
			}
		}
		if r.CRS != "" && !epsgCode.MatchString(r.CRS) {
			return wrong(field+".crs", "expected EPSG: and a number, such as EPSG:26918, found %q", oneLine(r.CRS))
		}
	}
	t := inv.Trees
	more := len(t.Fields) > 0 || len(t.Covers) > 0 || t.DiameterUnit != "" || t.MinCm != 0 || t.BandwidthM != 0 || t.Surveyed != LayerSpec{}
	if err := layerNamed("inventory.trees", t.LayerSpec, more); err != nil {
		return err
	}
	if err := layerNamed("inventory.trees.surveyed", t.Surveyed, false); err != nil {
		return err
	}
	for _, k := range sortedKeys(t.Fields) {
		if err := oneOf("inventory.trees.fields", k, "species", "diameter", "status", "x", "y", "expansion"); err != nil {
			return err
		}
	}
	if t.DiameterUnit != "" {
		if err := oneOf("inventory.trees.diameter_unit", t.DiameterUnit, "cm", "in"); err != nil {
			return err
		}
	}
	if t.MinCm != 0 {
		if err := within("inventory.trees.min_cm", t.MinCm, 0, 200, "cm"); err != nil {
			return err
		}
	}
	if t.BandwidthM != 0 {
		return within("inventory.trees.bandwidth", t.BandwidthM, 1, 5000, "metres")
	}
	return nil
}

func (s *Survey) checkAccess() error {
	for i, a := range s.Access {
		field := at("access", i)
		if a.Path == "" {
			return wrong(field+".path", "missing; name a polygon layer")
		}
		if a.Status != "" && (a.Field != "" || len(a.Values) > 0) {
			return wrong(field+".status", "says what every polygon is, and field what each is: give one of the two")
		}
		if a.Status != "" {
			if _, err := access.ParseStatus(a.Status); err != nil {
				return wrong(field+".status", "%v", err)
			}
		}
		for _, k := range sortedKeys(a.Values) {
			if _, err := access.ParseStatus(a.Values[k]); err != nil {
				return wrong(field+".values."+k, "%v", err)
			}
		}
	}
	return nil
}

func (s *Survey) checkKeepOut() error {
	var groups []string
	for _, g := range CoverGroups() {
		groups = append(groups, string(g))
	}
	for i, k := range s.KeepOut {
		field := at("keep_out", i)
		switch {
		case k.Path == "" && len(k.Cover) == 0:
			return wrong(field+".path", "missing; name a layer, or kinds of land cover with cover")
		case k.Path != "" && len(k.Cover) > 0:
			return wrong(field+".cover", "a layer is named too: give one of the two")
		case len(k.Cover) > 0 && k.LayerSpec != LayerSpec{}:
			return wrong(field+".cover", "layer, where, crs and swap belong to a layer")
		case len(k.Cover) > 0 && k.Preset != "":
			return wrong(field+".preset", "belongs to a layer of map tags")
		case len(k.Cover) > 0 && len(s.LandCover.Path) == 0:
			return wrong(field+".cover", "no land cover is named in the survey")
		}
		for _, g := range k.Cover {
			if err := oneOf(field+".cover", g, groups...); err != nil {
				return err
			}
		}
		if k.Preset != "" {
			if err := oneOf(field+".preset", k.Preset, presetNames()...); err != nil {
				return err
			}
		} else if k.DistanceM == nil {
			return wrong(field+".distance", "missing; say how many metres around it to keep out of, 0 for the ground itself")
		} else if k.Path != "" && strings.TrimSpace(k.Reason) == "" {
			return wrong(field+".reason", "missing; say in a few words why, such as railway")
		}
		if k.DistanceM != nil {
			if err := within(field+".distance", *k.DistanceM, 0, 5000, "metres"); err != nil {
				return err
			}
		}
	}
	return nil
}

func presetNames() []string {
	var names []string
	for _, p := range access.Presets() {
		names = append(names, p.Name)
	}
	return names
}

func (s *Survey) checkApproach() error {
	a := s.Approach
	for _, l := range []struct {
		field string
		spec  LayerSpec
	}{{"approach.paths", a.Paths}, {"approach.roads", a.Roads}, {"approach.parking", a.Parking}, {"approach.water", a.Water}} {
		if err := layerNamed(l.field, l.spec, false); err != nil {
			return err
		}
	}
	if !a.given() && (a.Parking.Path != "" || a.Water.Path != "") {
		return wrong("approach.paths", "missing; parking and water are of use with paths or roads")
	}
	if err := within("approach.off_path", a.OffPath, 1, 20, ""); err != nil {
		return err
	}
	if err := within("approach.crossing", a.CrossingM, 0, 100_000, "metres"); err != nil {
		return err
	}
	return within("approach.off_path_most", a.FarthestM, 10, 20_000, "metres")
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
