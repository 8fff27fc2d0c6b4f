package habitat

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"rillwood/raster"
	"rillwood/raster/terrain"
	"rillwood/vector"
)

// reversedM is by how many metres a line must rise to count as drawn against
// the water. Common practice, no source: elevations err by less.
const reversedM = 2

// enter finds the streams that come from outside the map: what they drain
// out there cannot be counted on the map and is taken from the layer. Outside
// is also where the elevation holds nothing: a projected elevation seldom
// fills its frame. height gives the elevation of a cell, NaN for none; it also
// tells lines drawn against the water. nil takes every line as drawn with it
// and the frame as full.
func (n *Network) enter(paths []vector.CellPath, f raster.Frame, height func(cell int) float64, byOrder OrderArea) {
	var unknown []string
	nameless, guessed := 0, 0
	if height == nil {
		height = func(int) float64 { return 0 }
	}
	pieces := onGround(paths, height)
	mostly := mostlyAgainst(pieces, height)
	for _, p := range pieces {
		k := len(p.Cells)
		if k == 0 || !(p.Enters || p.Leaves) {
			continue
		}
		against := mostly
		if rise := height(p.Cells[k-1]) - height(p.Cells[0]); math.Abs(rise) > reversedM {
			against = rise > 0
		}
		cells := p.Cells
		if against {
			cells = slices.Clone(cells)
			slices.Reverse(cells)
		}
		if (against && !p.Leaves) || (!against && !p.Enters) {
			continue // its upper end lies on the map
		}
		for i := 0; i < k && onRim(f, cells[i], height); i++ {
			n.Doors = append(n.Doors, cells[i])
		}
		r := n.Reaches[p.Feature]
		km2 := r.AreaKm2
		if math.IsNaN(km2) && r.Order > 0 {
			km2 = byOrder.Km2(r.Order)
			guessed++
		}
		if !math.IsNaN(km2) {
			n.Inflows = append(n.Inflows, terrain.Inflow{X: cells[0] % f.W, Y: cells[0] / f.W, Km2: km2})
			continue
		}
		if r.Name == "" {
			nameless++
		} else if !slices.Contains(unknown, r.Name) {
			unknown = append(unknown, r.Name)
		}
	}
	slices.Sort(n.Doors)
	n.Doors = slices.Compact(n.Doors)
	if guessed > 0 {
		n.Warnings = append(n.Warnings, fmt.Sprintf("streams: what %d streams bring in from outside the map was guessed from their order", guessed))
	}
	if len(unknown)+nameless == 0 {
		return
	}
	sort.Strings(unknown)
	who := strings.Join(unknown[:min(5, len(unknown))], ", ")
	if more := len(unknown) - 5; more > 0 {
		who += fmt.Sprintf(" and %d more", more)
	}
	if nameless > 0 {
		if who != "" {
			who += ", and "
		}
		who += fmt.Sprintf("%d without a name", nameless)
	}
	n.Warnings = append(n.Warnings, fmt.Sprintf("streams that may bring water from outside the map, with no known drainage area: %s; a big river among them is taken for a small one (give streams.fields.area, or a larger elevation)", who))
}

// mostlyAgainst tells whether more lines of a layer rise than fall along their
// own direction: then the level ones, too, are drawn against the water.
func mostlyAgainst(paths []vector.CellPath, height func(cell int) float64) bool {
	votes := 0
	for _, p := range paths {
		switch rise := height(p.Cells[len(p.Cells)-1]) - height(p.Cells[0]); {
		case rise > reversedM:
			votes++
		case rise < -reversedM:
			votes--
		}
	}
	return votes > 0
}

// onGround cuts paths where they cross cells without elevation, and leaves
// those cells out.
func onGround(paths []vector.CellPath, height func(cell int) float64) []vector.CellPath {
	var out []vector.CellPath
	for _, p := range paths {
		k := len(p.Cells)
		for a := 0; a < k; a++ {
			if math.IsNaN(height(p.Cells[a])) {
				continue
			}
			b := a + 1
			for b < k && !math.IsNaN(height(p.Cells[b])) {
				b++
			}
			piece := p
			piece.Cells = p.Cells[a:b]
			piece.Enters, piece.Leaves = p.Enters || a > 0, p.Leaves || b < k
			out = append(out, piece)
			a = b
		}
	}
	return out
}

// onRim tells whether a cell lies beside the frame's edge or ground without
// elevation.
func onRim(f raster.Frame, c int, height func(cell int) float64) bool {
	x, y := c%f.W, c/f.W
	if x == 0 || y == 0 || x == f.W-1 || y == f.H-1 {
		return true
	}
	for _, d := range [...]int{-f.W - 1, -f.W, -f.W + 1, -1, 1, f.W - 1, f.W, f.W + 1} {
		if math.IsNaN(height(c + d)) {
			return true
		}
	}
	return false
}
