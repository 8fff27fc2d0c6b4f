package habitat

// layerWork is how long each raster of LayerNames takes to write, in units of
// the quickest that are written row by row as they are; all hosts together
// count for one raster each. Measured on a county of 4 million cells.
var layerWork = map[string]float64{
	"hosts": 1.4, "expected-finds": 2, "limiting": 1.6, "uncertainty": 4.5, "slope": 1,
	"confidence": 0.3, "evidence": 0.3, "valley-flatness": 0.4, "access": 0.3, "keep-out": 0.3, "brook-height": 0.6, "stream-distance": 0.6,
}

// workOf is the work of a layer that is written for so many hosts.
func workOf(layer string, hosts int) float64 {
	w, ok := layerWork[layer]
	if !ok {
		w = 1
	}
	if layer == "hosts" {
		w *= float64(hosts)
	}
	return w
}

// LayerWork is how much work the layers are that a survey asks for, as a share
// of the work of all there can be; the profile is taken to have as many hosts
// as the built-in one.
func (s *Survey) LayerWork() float64 {
	const hosts = 14
	all, wanted := 0.0, 0.0
	for _, name := range LayerNames {
		all += workOf(name, hosts)
	}
	for _, name := range s.wantedLayers() {
		wanted += workOf(name, hosts)
	}
	return wanted / all
}

// layersDone tells a stage how much of the layers' work is done: begin opens a
// layer, and what it returns tells the share of it that is written.
func layersDone(layers []string, hosts int, report func(float64)) (begin func(layer string) func(share float64)) {
	all, before := 0.0, 0.0
	for _, l := range layers {
		all += workOf(l, hosts)
	}
	return func(layer string) func(float64) {
		at, w := before, workOf(layer, hosts)
		before += w
		report(at / all)
		return func(share float64) { report((at + share*w) / all) }
	}
}
