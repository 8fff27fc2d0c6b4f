package sheet

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"html/template"

	"rillwood/habitat/results"
)

//go:embed sheet.html
var sheetHTML string

//go:embed sheet.css
var sheetCSS string

// Page is the field sheet of one candidate: a section of class fieldsheet, of
// some 25 kB.
type Page struct {
	Rank int
	HTML template.HTML
}

// CSS is the style of sheets, all of it below .fieldsheet and .sheetbook, and
// what makes each print on a page of its own. A sheet with the attribute
// hidden does not print.
func CSS() template.CSS { return template.CSS(sheetCSS) }

var pageTemplate = template.Must(template.New("sheet").Funcs(functions).Parse(sheetHTML))

// Pages makes the sheets of the candidates named by rank, in that order. A
// rank that the run does not list is an error. The same run gives the same
// bytes.
func Pages(ctx context.Context, run *results.Run, ranks []int) ([]Page, error) {
	for _, rank := range ranks {
		if run.Candidate(rank) == nil {
			return nil, fmt.Errorf("no candidate %d; the shortlist has %s", rank, listed(run))
		}
	}
	d, err := newDrawing(run)
	if err != nil {
		return nil, err
	}
	return d.pages(ctx, ranks)
}

func (d *drawing) pages(ctx context.Context, ranks []int) ([]Page, error) {
	var pages []Page
	for i, rank := range ranks {
		html, err := d.page(ctx, d.run.Candidate(rank), i+1, len(ranks))
		if err != nil {
			return nil, fmt.Errorf("sheet of candidate %d: %w", rank, err)
		}
		pages = append(pages, Page{rank, html})
	}
	return pages, nil
}

func (d *drawing) page(ctx context.Context, c *results.Candidate, number, of int) (template.HTML, error) {
	if err := ctx.Err(); err != nil {
		return "", err
	}
	data := describe(d.run, c)
	data.Number, data.Of = number, of
	turn, err := d.convergence(c)
	if err != nil {
		return "", err
	}
	data.North = northWords(turn)
	if c.Walk != nil && c.Walk.OK {
		p, err := d.to.Point([2]float64{c.Walk.StartLon, c.Walk.StartLat})
		if err != nil {
			return "", err
		}
		data.Places = append([]place{locate("Start", c.Walk.StartLon, c.Walk.StartLat, p[0], p[1])}, data.Places...)
	}
	data.fit()
	if data.Map, err = d.draw(ctx, c, data.Plan.ground); err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, data); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}

// listed says which ranks there are.
func listed(run *results.Run) string {
	switch n := len(run.Candidates); n {
	case 0:
		return "none"
	case 1:
		return fmt.Sprint(run.Candidates[0].Rank)
	default:
		return fmt.Sprintf("%d to %d", run.Candidates[0].Rank, run.Candidates[n-1].Rank)
	}
}
