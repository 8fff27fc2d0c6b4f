package raster

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"pgregory.net/rapid"
)

func TestTilesCoverEachCellOnce(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w, h := rapid.IntRange(1, 50).Draw(rt, "w"), rapid.IntRange(1, 50).Draw(rt, "h")
		tl := NewTiling(w, h, rapid.IntRange(-1, 60).Draw(rt, "side"))
		seen := make([]int, w*h)
		for i := range tl.N() {
			tile := tl.Tile(i)
			if tile.Index != i || tile.W < 1 || tile.H < 1 {
				rt.Fatalf("tile %d is %+v", i, tile)
			}
			for y := tile.Y; y < tile.Y+tile.H; y++ {
				for x := tile.X; x < tile.X+tile.W; x++ {
					seen[y*w+x]++
					if tl.Of(x, y) != i {
						rt.Fatalf("cell %d,%d lies in tile %d, told %d", x, y, i, tl.Of(x, y))
					}
				}
			}
		}
		for i, n := range seen {
			if n != 1 {
				rt.Fatalf("cell %d lies in %d tiles", i, n)
			}
		}
	})
}

func TestParallelCallsEachOnceWithItsOwnWorker(t *testing.T) {
	for _, workers := range []int{0, 1, 3, 50} {
		const n = 20
		var calls [n]atomic.Int32
		busy := make([]sync.Mutex, n)
		err := Parallel(t.Context(), workers, n, func(w, i int) error {
			if w < 0 || w >= max(1, min(workers, n)) {
				t.Errorf("%d workers: worker %d called", workers, w)
				return nil
			}
			if !busy[w].TryLock() {
				t.Errorf("%d workers: worker %d runs twice at once", workers, w)
				return nil
			}
			defer busy[w].Unlock()
			calls[i].Add(1)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for i := range calls {
			if c := calls[i].Load(); c != 1 {
				t.Errorf("%d workers: %d called %d times", workers, i, c)
			}
		}
	}
}

func TestParallelStopsAtTheFirstError(t *testing.T) {
	wrong := errors.New("wrong")
	for _, workers := range []int{1, 4} {
		var after atomic.Int32
		err := Parallel(t.Context(), workers, 10000, func(_, i int) error {
			if i == 5 {
				return wrong
			}
			if i > 5 {
				after.Add(1)
			}
			return nil
		})
		if !errors.Is(err, wrong) {
			t.Errorf("%d workers: got %v, want the call's own error", workers, err)
		}
		if after.Load() == 10000-6 {
			t.Errorf("%d workers: all calls were made after the error", workers)
		}
	}
}

func TestParallelStopsWhenCancelled(t *testing.T) {
	for _, workers := range []int{1, 4} {
		ctx, cancel := context.WithCancel(t.Context())
		var calls atomic.Int32
		err := NewTiling(100, 100, 1).Each(ctx, workers, func(int, Tile) error {
			if calls.Add(1) == 10 {
				cancel()
			}
			return nil
		})
		if !errors.Is(err, context.Canceled) || calls.Load() == 10000 {
			t.Errorf("%d workers: %d calls, then %v", workers, calls.Load(), err)
		}
	}
}
