package habitat

import "testing"

func TestSmoke(t *testing.T) {
	p, err := LoadProfile("elm-bottoms")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range LegendNames() {
		l, err := LoadLegend(n)
		if err != nil {
			t.Fatal(err)
		}
		tb, err := NewHostTable(p, l)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(n, tb.EMax, tb.S[Key(200, 90)], tb.E[Key(200, 90)])
	}
	b, _ := p.Encode()
	t.Log(string(b))
	if _, err := ParseProfile("x", b); err != nil {
		t.Fatal(err)
	}
	t.Log(string(Template(TemplateInputs{})))
	_, err = ParseSurvey("a.yaml", []byte("elevation:\n  path: a.tif\nstreams:\n  treshold_km2: 3\n"))
	t.Log(err)
}
