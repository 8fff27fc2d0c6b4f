package habitat

import (
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

var epsgCode = regexp.MustCompile(`^EPSG:[1-9][0-9]{0,6}$`)

// Validate checks every field of the survey against the others, without
// opening any input. The first mistake found is returned.
func (s *Survey) Validate() error {
	for _, check := range []func() error{
		s.checkInputs, s.checkFrame, s.checkStreams, s.checkLandCover, s.checkLayers, s.checkShortlist, s.checkOutput,
	} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

func (s *Survey) checkInputs() error {
	if len(s.Elevation.Path) == 0 {
		return wrong("elevation.path", "missing; name the elevation raster, a folder of tiles, or a glob")
	}
	for _, list := range []struct {
		field string
		paths []string
	}{{"elevation.path", s.Elevation.Path}, {"streams.path", s.Streams.Path}, {"landcover.path", s.LandCover.Path}} {
		for _, p := range list.paths {
			if strings.TrimSpace(p) == "" {
				return wrong(list.field, "empty path; name a file or leave the line out")
			}
		}
	}
	if err := oneOf("elevation.unit", s.Elevation.Unit, "auto", "m", "ft", "us-ft"); err != nil {
		return err
	}
	for _, c := range []struct{ field, crs string }{
		{"area.crs", s.Area.CRS}, {"elevation.crs", s.Elevation.CRS}, {"streams.crs", s.Streams.CRS}, {"landcover.crs", s.LandCover.CRS},
	} {
		if c.crs != "" && !epsgCode.MatchString(c.crs) {
			return wrong(c.field, "expected EPSG: and a number, such as EPSG:26918, found %q", oneLine(c.crs))
		}
	}
	if s.Area.Path == "" && (s.Area.Layer != "" || s.Area.Where != "" || s.Area.CRS != "") {
		return wrong("area.path", "missing, though other settings of the area are given")
	}
	if s.Profile == "" {
		return wrong("profile", "empty; leave the line out for %q", DefaultProfile)
	}
	if !isPath(s.Profile) {
		if err := oneOf("profile", s.Profile, ProfileNames()...); err != nil {
			return err
		}
	}
	if s.Target != "" && !isPath(s.Target) {
		return oneOf("target", s.Target, TargetNames()...)
	}
	return nil
}

func (s *Survey) checkFrame() error {
	f := s.Frame
	if !slices.Contains([]string{"auto", "elevation", "utm"}, f.CRS) && !epsgCode.MatchString(f.CRS) {
		return wrong("frame.crs", "expected auto, elevation, utm or EPSG: and a number, found %q", oneLine(f.CRS))
	}
	if f.Cell != 0 {
		if err := within("frame.cell", f.Cell, 0.1, 1000, "metres"); err != nil {
			return err
		}
	}
	return within("frame.collar", f.Collar, 0, 100_000, "metres")
}

func (s *Survey) checkStreams() error {
	st := s.Streams
	if err := oneOf("streams.rules", st.Rules, "auto", "nhd", "all"); err != nil {
		return err
	}
	if err := oneOf("streams.area_unit", st.AreaUnit, "km2", "mi2"); err != nil {
		return err
	}
	if len(st.Path) == 0 && (st.Layer != "" || st.Where != "" || st.CRS != "" || st.Fields != StreamFields{}) {
		return wrong("streams.path", "missing, though other settings of the stream layer are given")
	}
	return within("streams.threshold_km2", st.ThresholdKm2, 0.001, 100_000, "km²")
}

func (s *Survey) checkLandCover() error {
	lc := s.LandCover
	if err := oneOf("landcover.unknown", lc.Unknown, "stop", "neutral"); err != nil {
		return err
	}
	if lc.Legend == "" {
		return wrong("landcover.legend", "empty; leave the line out to have it recognised by its codes")
	}
	if !isPath(lc.Legend) {
		if err := oneOf("landcover.legend", lc.Legend, append([]string{"auto"}, LegendNames()...)...); err != nil {
			return err
		}
	}
	if len(lc.Path) == 0 && (lc.Legend != "auto" || lc.CRS != "" || lc.Nodata != nil) {
		return wrong("landcover.path", "missing, though other settings of the land cover are given")
	}
	return nil
}

func (s *Survey) checkShortlist() error {
	l := s.Shortlist
	if err := within("shortlist.threshold", l.Threshold, 0, 1, ""); err != nil {
		return err
	}
	if err := within("shortlist.min_ha", l.MinHa, 0, 10_000, "hectares"); err != nil {
		return err
	}
	if err := within("shortlist.max_ha", l.MaxHa, 0.01, 10_000, "hectares"); err != nil {
		return err
	}
	if l.MaxHa < 2*l.MinHa {
		return wrong("shortlist.max_ha", "%g ha is less than twice min_ha (%g ha), so a patch too large could not be cut in two; raise one or lower the other", l.MaxHa, l.MinHa)
	}
	if l.Top < 0 || l.Top > 100_000 {
		return wrong("shortlist.top", "expected 0 (all) to 100000, found %d", l.Top)
	}
	if l.Draws < 0 || l.Draws > 10_000 {
		return wrong("shortlist.draws", "expected 0 (none) to 10000, found %d", l.Draws)
	}
	if l.Explore < 0 || l.Top > 0 && l.Explore > l.Top {
		return wrong("shortlist.explore", "expected 0 to shortlist.top (%d), found %d", l.Top, l.Explore)
	}
	return within("shortlist.hole_ha", l.HoleHa, 0, 1000, "hectares")
}

func (s *Survey) checkOutput() error {
	if strings.TrimSpace(s.Output.Folder) == "" {
		return wrong("output.folder", "empty; name a folder or leave the line out")
	}
	if len(s.Output.Layers) == 0 {
		return wrong("output.layers", "empty; write all, none, or a list of layers")
	}
	for i, name := range s.Output.Layers {
		if (name == "all" || name == "none") && len(s.Output.Layers) == 1 {
			continue
		}
		if err := oneOf("output.layers", name, LayerNames...); err != nil {
			return err
		}
		if !s.hasFor(name) {
			return wrong("output.layers", "%s cannot be written: the survey names no layer to make it from", name)
		}
		if slices.Contains(s.Output.Layers[:i], name) {
			return wrong("output.layers", "%s is listed twice", name)
		}
	}
	if s.Run.Workers < 0 || s.Run.Workers > 1024 {
		return wrong("run.workers", "expected 0 (one for each processor) to 1024, found %d", s.Run.Workers)
	}
	if s.Run.MostFeatures < 0 {
		return wrong("run.most_features", "expected a number above 0, found %d", s.Run.MostFeatures)
	}
	if s.Run.MostPoints < 0 {
		return wrong("run.most_points", "expected a number above 0, found %d", s.Run.MostPoints)
	}
	if m := s.Run.Memory; m != 0 && m < 64<<20 {
		return wrong("run.memory", "%s is too little to work with; give at least 64MB", m)
	}
	return nil
}

// WantsLayer tells whether the survey asks for a layer of LayerNames.
func (s *Survey) WantsLayer(name string) bool {
	return slices.Contains(s.Output.Layers, "all") || slices.Contains(s.Output.Layers, name)
}

// within checks a number against its bounds, both allowed.
func within(path string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	if unit != "" {
		unit = " " + unit
	}
	return wrong(path, "expected %g to %g%s, found %g", lo, hi, unit, v)
}

// isPath tells a path from a name: it has a separator or an extension.
func isPath(s string) bool {
	return strings.ContainsAny(s, `/\`) || filepath.Ext(s) != ""
}

// ByteSize is a number of bytes, written as 512MB, 4GB or auto. The units
// are powers of 1024.
type ByteSize int64

// Parse reads a size such as 512MB, 4GB or auto.
func (b *ByteSize) Parse(text string) error { return b.setText(text) }

func (b *ByteSize) setText(text string) error {
	t := strings.ToUpper(strings.ReplaceAll(text, " ", ""))
	if t == "AUTO" {
		*b = 0
		return nil
	}
	shift := 0
	for i, suffix := range []string{"KB", "MB", "GB", "TB"} {
		if rest, ok := strings.CutSuffix(t, suffix); ok {
			t, shift = rest, 10*(i+1)
			break
		}
	}
	n, err := strconv.ParseInt(t, 10, 64)
	if err != nil || n < 0 || n > 1<<50>>shift {
		return fmt.Errorf("expected a size such as 2GB, 512MB or auto, found %q", oneLine(text))
	}
	*b = ByteSize(n << shift)
	return nil
}

func (b ByteSize) String() string {
	if b == 0 {
		return "auto"
	}
	for i, suffix := range []string{"TB", "GB", "MB", "KB"} {
		if shift := 10 * (4 - i); b>>shift<<shift == b {
			return strconv.FormatInt(int64(b>>shift), 10) + suffix
		}
	}
	return strconv.FormatInt(int64(b), 10)
}

// MarshalYAML writes the size the way it is read.
func (b ByteSize) MarshalYAML() (any, error) { return b.String(), nil }
