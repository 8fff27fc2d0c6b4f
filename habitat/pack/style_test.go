package pack

import (
	"encoding/xml"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/habitat/picture"
)

// The parts of an SLD 1.0.0 document (OGC 02-070, annex A) that a raster style
// is made of. ColorMap has no attributes there.
type sld struct {
	XMLName xml.Name `xml:"http://www.opengis.net/sld StyledLayerDescriptor"`
	Version string   `xml:"version,attr"`
	Layers  []struct {
		Name   string `xml:"http://www.opengis.net/sld Name"`
		Styles []struct {
			Name     string `xml:"http://www.opengis.net/sld Name"`
			Title    string `xml:"http://www.opengis.net/sld Title"`
			Abstract string `xml:"http://www.opengis.net/sld Abstract"`
			Rules    []struct {
				Raster []struct {
					Map struct {
						Attributes []xml.Attr `xml:",any,attr"`
						Entries    []struct {
							Color    string  `xml:"color,attr"`
							Quantity float64 `xml:"quantity,attr"`
							Opacity  float64 `xml:"opacity,attr"`
							Label    string  `xml:"label,attr"`
						} `xml:"http://www.opengis.net/sld ColorMapEntry"`
					} `xml:"http://www.opengis.net/sld ColorMap"`
				} `xml:"http://www.opengis.net/sld RasterSymbolizer"`
			} `xml:"http://www.opengis.net/sld FeatureTypeStyle>Rule"`
		} `xml:"http://www.opengis.net/sld UserStyle"`
	} `xml:"http://www.opengis.net/sld NamedLayer"`
}

func TestStyleIsTheRampOfThePicture(t *testing.T) {
	run := madeRun(t)
	run.Name = hostile
	text := styleOf(run)
	var s sld
	if err := xml.Unmarshal([]byte(text), &s); err != nil {
		t.Fatal(err)
	}
	if s.Version != "1.0.0" || len(s.Layers) != 1 || len(s.Layers[0].Styles) != 1 || len(s.Layers[0].Styles[0].Rules) != 1 || len(s.Layers[0].Styles[0].Rules[0].Raster) != 1 {
		t.Fatalf("not one style with one rule: %+v", s)
	}
	u := s.Layers[0].Styles[0]
	if !strings.Contains(u.Title, plain(hostile)) || !strings.Contains(u.Abstract, "never what is safe to eat") {
		t.Errorf("title %q, abstract %q", u.Title, u.Abstract)
	}
	m := u.Rules[0].Raster[0].Map
	if len(m.Attributes) > 0 {
		t.Errorf("attributes the standard does not have: %v", m.Attributes)
	}
	stops := picture.Ramp()
	if len(m.Entries) != len(stops)+1 {
		t.Fatalf("%d entries for %d stops", len(m.Entries), len(stops))
	}
	for i, e := range m.Entries {
		if i == 0 {
			if e.Opacity != 0 || !(e.Quantity < 0) {
				t.Errorf("ground without data: %+v", e)
			}
			continue
		}
		p := stops[i-1]
		if !(e.Quantity > m.Entries[i-1].Quantity) {
			t.Errorf("entry %d does not rise: %+v", i, e)
		}
		if want := fmt.Sprintf("#%02x%02x%02x", p.Color.R, p.Color.G, p.Color.B); e.Color != want || e.Quantity != p.Value || math.Abs(e.Opacity-float64(p.Color.A)/255) > 0.0005 {
			t.Errorf("entry %d: %+v, want %s at %g with opacity %g", i, e, want, p.Value, float64(p.Color.A)/255)
		}
	}
	tool, err := exec.LookPath("xmllint")
	if err != nil {
		t.Skip("no xmllint here: it does not judge the style")
	}
	path := filepath.Join(t.TempDir(), styleName)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(tool, "--nonet", "--noout", path).CombinedOutput(); err != nil {
		t.Errorf("not well formed: %v\n%s", err, out)
	}
}

func TestColourOf(t *testing.T) {
	stops := picture.Ramp()
	hex := func(i int) string {
		c := stops[i].Color
		return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
	}
	for _, c := range []struct {
		s    float64
		want string
	}{{0, hex(0)}, {1, hex(len(stops) - 1)}, {2, hex(len(stops) - 1)}, {stops[4].Value + 0.01, hex(4)}, {stops[5].Value - 0.01, hex(5)}, {math.NaN(), ""}} {
		if got := colourOf(c.s); got != c.want {
			t.Errorf("%g: %q, want %q", c.s, got, c.want)
		}
	}
}
