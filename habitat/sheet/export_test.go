package sheet

import "rillwood/habitat/results"

// PageMM is the height of a page's print, for tests.
const PageMM = pageMM

// HeightOf is the height a candidate's sheet is reckoned to need.
func HeightOf(run *results.Run, rank int) (float64, error) {
	d, err := newDrawing(run)
	if err != nil {
		return 0, err
	}
	c := run.Candidate(rank)
	data := describe(run, c)
	turn, err := d.convergence(c)
	if err != nil {
		return 0, err
	}
	data.North = northWords(turn)
	if c.Walk != nil && c.Walk.OK {
		data.Places = append(data.Places, place{})
	}
	data.fit()
	return data.height(), nil
}
