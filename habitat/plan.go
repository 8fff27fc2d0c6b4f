package habitat

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"

	"rillwood/raster"
)

// memoryPlan says where a run keeps its planes.
type memoryPlan struct {
	need    int64  // bytes of planes
	budget  int64  // bytes of memory the run may use
	scratch string // folder for planes that do not fit, "" = all in memory
	tile    int
	seconds float64 // expected, from the cells and processors
}

const (
	// fixedMemory is what a run needs beside its planes: tiles being worked on,
	// the raster library, the graph of tile edges of a county.
	fixedMemory = 200 << 20
	// edgeMemory is kept free, where planes go to files, for the graph of tile
	// edges, the streams and the patches of a very large map.
	edgeMemory = 340 << 20
	// largeMap is from where larger tiles pay: the edges between tiles are what
	// stays in memory when planes do not.
	largeMap = 100e6
)

// cellSeconds is what a cell takes on two processors of 2026, measured on the
// demo county; a first guess for a user, no promise.
const cellSeconds = 160e-9

// bytesPerCell counts the planes of a run: elevation 4, drainage area 4,
// bottomland 2, height 2, directions and status 1 each, and where they are given
// stream marks and land cover 1 each, the terms of the model 6.
func bytesPerCell(s *Survey) int64 {
	n := int64(4 + 4 + 2 + 2 + 1 + 1)
	if len(s.Streams.Path) > 0 {
		n++
	}
	if len(s.LandCover.Path) > 0 {
		n++
	}
	if s.wantsTerms() {
		n += 6
	}
	return n
}

// planMemory decides whether the planes stay in memory.
func planMemory(f raster.Frame, s *Survey) memoryPlan {
	p := memoryPlan{need: int64(f.Cells()) * (bytesPerCell(s) + s.layerBytes()), budget: int64(s.Run.Memory), tile: defaultTile}
	if p.budget == 0 {
		if m := raster.MemoryOfMachine(); m > 0 {
			p.budget = m / 10 * 6
		} else {
			p.budget = 4 << 30
		}
	}
	if f.Cells() > largeMap {
		p.tile = 2 * defaultTile
	}
	workers := s.Run.Workers
	if workers < 1 {
		workers = runtime.NumCPU()
	}
	p.seconds = 1 + float64(f.Cells())*cellSeconds*2/float64(workers)
	if len(s.wantedLayers()) > 0 {
		p.seconds *= 2
	}
	if s.Evidence.ValleyFlatness {
		p.seconds *= 1.5
	}
	if p.need+fixedMemory > p.budget {
		p.seconds *= 1.5
		p.scratch = s.Run.Scratch
		if p.scratch == "" {
			p.scratch = s.Output.Folder
		}
	}
	return p
}

// open makes the scratch folder of a plan that needs one, after a look at the
// room there; nil when all stays in memory.
func (p memoryPlan) open() (*raster.Scratch, error) {
	if p.scratch == "" {
		return nil, nil
	}
	if err := os.MkdirAll(p.scratch, 0o755); err != nil {
		return nil, wrong("run.scratch", "cannot be made: %v", err)
	}
	free, err := raster.FreeDisk(p.scratch)
	if err == nil && free < p.need+p.need/10 {
		return nil, wrong("run.scratch", "the run needs %s of scratch space and %q has %s free; name another folder, or give run.memory %s or more",
			bytesText(p.need+p.need/10), filepath.Clean(p.scratch), bytesText(free), bytesText(p.need+fixedMemory))
	}
	return raster.NewScratch(p.scratch, p.budget-fixedMemory-edgeMemory)
}

// Text says the plan in words.
func (p memoryPlan) Text() string {
	if p.scratch == "" {
		return fmt.Sprintf("needs about %s of memory, works in tiles of %d cells, and takes about %s", bytesText(p.need+fixedMemory), p.tile, p.time())
	}
	return fmt.Sprintf("works within %s of memory, with about %s of scratch files in %s, in tiles of %d cells, and takes about %s",
		bytesText(p.budget), bytesText(p.need), filepath.Clean(p.scratch), p.tile, p.time())
}

func (p memoryPlan) time() string {
	if p.seconds < 90 {
		return fmt.Sprintf("%.0f s", p.seconds)
	}
	return fmt.Sprintf("%.0f min", p.seconds/60)
}

func bytesText(n int64) string {
	switch {
	case n >= 10<<30:
		return fmt.Sprintf("%.0f GB", float64(n)/(1<<30))
	case n >= 1<<30:
		return fmt.Sprintf("%.1f GB", float64(n)/(1<<30))
	}
	return fmt.Sprintf("%.0f MB", float64(n)/(1<<20))
}
