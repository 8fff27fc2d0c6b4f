package season

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Colours that the common kinds of colour-blindness tell apart, and grey print
// too (Okabe and Ito 2008, Color Universal Design).
var (
	windowColour   = color.NRGBA{0x00, 0x72, 0xb2, 0xff}
	forecastColour = color.NRGBA{0xe6, 0x9f, 0x00, 0xff}
	otherColour    = color.NRGBA{0xe3, 0xe3, 0xe3, 0xff}
	unknownColour  = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	inkColour      = color.NRGBA{0x22, 0x22, 0x22, 0xff}
)

// Sizes in points.
const (
	stripWidth  = 620
	usualHeight = 76
	bandHeight  = 18
	gapHeight   = 20
	besides     = 110 // title, months and legend
	tallestRows = 520
	dots        = 144 // an inch, of the PNG
)

// Strip draws the calendar: on top how usual windows are by the day of the
// year, below it the season shown, and all seasons of the record, a row each,
// the newest on top. format is png or svg. The same outlook gives the same
// bytes.
func (o *Outlook) Strip(format string) ([]byte, error) {
	rows := len(o.Seasons)
	rowHeight := math.Max(2, math.Min(12, tallestRows/float64(rows)))
	if rows > 20 {
		rowHeight = math.Min(rowHeight, 6)
	}
	s := &strip{o: o, slots: o.Rule.slots(), rowHeight: rowHeight}
	s.band = float64(rows)*rowHeight + gapHeight
	s.usual = s.band + bandHeight + gapHeight
	high := s.usual + usualHeight
	w, h := vg.Points(stripWidth), vg.Points(high+besides)
	var canvas interface {
		vg.CanvasSizer
	}
	var out bytes.Buffer
	var write func() error
	switch format {
	case "svg":
		c := vgsvg.New(w, h)
		canvas = c
		write = func() error { _, err := c.WriteTo(&out); return err }
	case "png":
		c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(w, h), vgimg.UseDPI(dots))}
		canvas = c
		write = func() error { _, err := c.WriteTo(&out); return err }
	default:
		return nil, fmt.Errorf("strip plot: %q is neither png nor svg", format)
	}
	dc := draw.New(canvas)
	dc.SetColor(color.White)
	dc.Fill(dc.Rectangle.Path())
	p := s.plot(high)
	p.Draw(draw.Crop(dc, vg.Points(8), -vg.Points(12), vg.Points(26), -vg.Points(8)))
	s.legend(dc)
	if err := write(); err != nil {
		return nil, fmt.Errorf("strip plot: %w", err)
	}
	if format == "svg" {
		return s.readable(out.Bytes()), nil
	}
	return out.Bytes(), nil
}

// readable gives an SVG a title for those who hear it, and letters like those
// it was measured by where these are not installed.
func (s *strip) readable(svg []byte) []byte {
	svg = bytes.ReplaceAll(svg, []byte("font-family:Liberation Sans;"), []byte("font-family:Liberation Sans,Arial,Helvetica,sans-serif;"))
	var title bytes.Buffer
	title.WriteString("<title>")
	xml.EscapeText(&title, []byte(s.title()))
	title.WriteString("</title>\n<g ")
	return bytes.Replace(svg, []byte("<g "), title.Bytes(), 1)
}

func (s *strip) title() string {
	return fmt.Sprintf("Good days for %s, season %s", letters(s.o.Target), s.o.Season.Label)
}

type strip struct {
	o           *Outlook
	slots       []slot
	rowHeight   float64
	band, usual float64 // where these begin, in points above the lowest row
	top         float64 // share at the top of the usual panel
}

func (s *strip) plot(high float64) *plot.Plot {
	p := plot.New()
	p.Title.Text = s.title()
	p.Title.TextStyle = s.letters(12)
	p.Title.TextStyle.XAlign = text.XCenter
	p.Title.TextStyle.YAlign = text.YTop
	p.Title.Padding = vg.Points(16)
	p.X.Min, p.X.Max = 0, float64(len(s.slots))
	p.Y.Min, p.Y.Max = 0, high
	s.top = s.share()
	p.X.Tick.Marker = plot.ConstantTicks(s.monthTicks())
	p.Y.Tick.Marker = plot.ConstantTicks(s.rowTicks())
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.LineStyle.Width = 0
		a.Padding = vg.Points(3)
		a.Tick.Length = vg.Points(3)
		a.Tick.Label.Font = face(8)
		a.Tick.LineStyle.Color, a.Tick.Label.Color = inkColour, inkColour
	}
	p.Y.Tick.LineStyle.Width = 0
	p.Add(s)
	return p
}

// share is the top of the usual panel: the largest share, rounded up.
func (s *strip) share() float64 {
	top := 0.1
	for _, u := range s.o.Typical.Days {
		top = math.Max(top, math.Ceil(u.Share*10)/10)
	}
	return top
}

func (s *strip) monthTicks() []plot.Tick {
	var out []plot.Tick
	for k, sl := range s.slots {
		switch sl.day {
		case 1:
			out = append(out, plot.Tick{Value: float64(k)})
		case 15:
			out = append(out, plot.Tick{Value: float64(k), Label: sl.month.String()[:3]})
		}
	}
	return append(out, plot.Tick{Value: float64(len(s.slots))})
}

func (s *strip) rowTicks() []plot.Tick {
	out := []plot.Tick{
		{Value: s.band + bandHeight/2, Label: s.o.Season.Label},
		{Value: s.usual, Label: "0 %"},
		{Value: s.usual + usualHeight, Label: fmt.Sprintf("%.0f %%", 100*s.top)},
	}
	last := -100.0
	for i, m := range s.o.Seasons {
		if y := (float64(i) + 0.5) * s.rowHeight; (m.Year%10 == 0 || len(s.o.Seasons) <= 20) && y-last >= 9 {
			out = append(out, plot.Tick{Value: y, Label: m.Label})
			last = y
		}
	}
	return out
}

// Plot draws all three parts; it is called by the plot it was added to.
func (s *strip) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	fill := func(col color.Color, x0, x1, y0, y1 float64) {
		c.SetColor(col)
		c.Fill(vg.Rectangle{Min: vg.Point{X: x(x0), Y: y(y0)}, Max: vg.Point{X: x(x1), Y: y(y1)}}.Path())
	}
	// One shape: bars side by side would show seams.
	var hill vg.Path
	hill.Move(vg.Point{X: x(0), Y: y(s.usual)})
	for k, u := range s.o.Typical.Days {
		at := y(s.usual + usualHeight*u.Share/s.top)
		hill.Line(vg.Point{X: x(float64(k)), Y: at})
		hill.Line(vg.Point{X: x(float64(k + 1)), Y: at})
	}
	hill.Line(vg.Point{X: x(float64(len(s.slots))), Y: y(s.usual)})
	hill.Close()
	c.SetColor(windowColour)
	c.Fill(hill)
	frame := draw.LineStyle{Color: color.Gray{0xaa}, Width: vg.Points(0.5)}
	line := func(x0, x1, y0, y1 float64) { c.StrokeLine2(frame, x(x0), y(y0), x(x1), y(y1)) }
	wide := float64(len(s.slots))
	line(0, wide, s.usual, s.usual)
	row := func(year int, j *Judgement, y0, y1 float64) {
		for _, r := range s.runs(year, j) {
			if r.colour != unknownColour {
				fill(r.colour, float64(r.from), float64(r.to), y0, y1)
			}
		}
	}
	row(s.o.Season.Year, s.o.joined, s.band, s.band+bandHeight)
	for i, m := range s.o.Seasons {
		y0 := float64(i) * s.rowHeight
		row(m.Year, s.o.measured, y0, y0+s.rowHeight*0.86)
	}
	for k, sl := range s.slots {
		if sl.day == 1 && k > 0 {
			line(float64(k), float64(k), 0, s.usual+usualHeight)
		}
	}
	style := s.letters(9)
	style.YAlign = text.YBottom
	c.FillText(style, vg.Point{X: x(0), Y: y(s.usual+usualHeight) + vg.Points(2)}, fmt.Sprintf("How often each day lay in a window, %d seasons", len(s.o.Seasons)))
	c.FillText(style, vg.Point{X: x(0), Y: y(s.band+bandHeight) + vg.Points(2)}, "This season, to "+min(s.o.Season.Last, s.o.joined.Series.Last()).String())
	c.FillText(style, vg.Point{X: x(0), Y: y(s.band-gapHeight) + vg.Points(2)}, "All seasons")
}

// colourRun is a run of days of the year, to excluded, of one colour.
type colourRun struct {
	from, to int
	colour   color.NRGBA
}

// runs are one season's days by colour. A 29 February that does not come takes
// the colour of the day before.
func (s *strip) runs(year int, j *Judgement) []colourRun {
	in := inSpans(j.Windows, j.Series.Len())
	var out []colourRun
	for k, sl := range s.slots {
		col := unknownColour
		d, ok := s.o.Rule.dayOf(year, sl)
		i := int(d - j.Series.First)
		switch {
		case !ok && len(out) > 0:
			col = out[len(out)-1].colour
		case !ok || i < 0 || i >= j.Series.Len():
		case in[i] && d > s.o.Station.Last:
			col = forecastColour
		case in[i]:
			col = windowColour
		case j.Good[i] != Unknown:
			col = otherColour
		}
		if n := len(out); n > 0 && out[n-1].colour == col {
			out[n-1].to = k + 1
		} else {
			out = append(out, colourRun{k, k + 1, col})
		}
	}
	return out
}

func (s *strip) letters(size float64) text.Style {
	return text.Style{Color: inkColour, Font: face(size), Handler: plot.DefaultTextHandler}
}

func face(points float64) font.Font {
	return font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Points(points)}
}

// legend stands at the foot.
func (s *strip) legend(c draw.Canvas) {
	at := c.Min.X + vg.Points(56)
	base := c.Min.Y + vg.Points(9)
	style := s.letters(9)
	items := []struct {
		col  color.NRGBA
		word string
	}{{windowColour, "in a window"}, {forecastColour, "in a window by the forecast"}, {otherColour, "other days"}, {unknownColour, "not judged"}}
	for _, it := range items {
		if it.col == forecastColour && len(s.o.Coming) == 0 {
			continue
		}
		box := vg.Rectangle{Min: vg.Point{X: at, Y: base}, Max: vg.Point{X: at + vg.Points(10), Y: base + vg.Points(8)}}
		c.SetColor(it.col)
		c.Fill(box.Path())
		c.SetColor(color.Gray{0x88})
		c.SetLineWidth(vg.Points(0.5))
		c.Stroke(box.Path())
		at += vg.Points(14)
		c.FillText(style, vg.Point{X: at, Y: base}, it.word)
		at += style.Width(it.word) + vg.Points(16)
	}
}

// letters leaves of a text what the plot's face can draw on one line.
func letters(t string) string {
	var b []rune
	for _, r := range t {
		if r >= ' ' && r != 0x7f && len(b) < 60 {
			b = append(b, r)
		}
	}
	return string(b)
}
