package inventory

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"rillwood/raster"
	"rillwood/vector"
)

// maxLine is the longest record of a CSV, in bytes: beyond it a quote was most
// likely never closed, and the reader would take in the whole file.
const maxLine = 1 << 20

var errLongLine = errors.New("longer than 1 MiB: a quote may not be closed")

// short lets through a limited number of bytes between resets.
type short struct {
	r    io.Reader
	left int
}

func (s *short) Read(p []byte) (int, error) {
	if s.left <= 0 {
		return 0, errLongLine
	}
	n, err := s.r.Read(p[:min(len(p), s.left)])
	s.left -= n
	return n, err
}

// readCSV reads the records of a CSV file and tells the WKT of its places.
func (s TreeSource) readCSV(ctx context.Context, o settings, hosts []Host) (*reading, string, error) {
	abs, err := raster.LocalPath(s.CSV, false)
	if err != nil {
		return nil, "", err
	}
	file, err := os.Open(abs)
	if err != nil {
		return nil, "", err
	}
	defer file.Close()
	r, wkt, err := s.parseCSV(ctx, file, o.minCm, hosts)
	if err != nil {
		return nil, "", fmt.Errorf("%q: %w", s.CSV, err)
	}
	return r, wkt, nil
}

// parseCSV is readCSV from any reader.
func (s TreeSource) parseCSV(ctx context.Context, from io.Reader, minCm float64, hosts []Host) (*reading, string, error) {
	in := &short{r: skipMark(from), left: maxLine}
	c := csv.NewReader(in)
	c.ReuseRecord, c.TrimLeadingSpace = true, true
	head, err := c.Read()
	if errors.Is(err, io.EOF) {
		return nil, "", errors.New("empty; the first line names the columns")
	} else if err != nil {
		return nil, "", lineError(c, err)
	}
	names := append([]string{}, head...)
	if len(names) == 1 && strings.ContainsAny(names[0], ";\t|") {
		return nil, "", fmt.Errorf("its first line, %s, holds no comma; separate the columns by commas", quote(names[0]))
	}
	l, err := s.choose(names, true)
	if err != nil {
		return nil, "", err
	}
	crs, err := s.placeCRS(l)
	if err != nil {
		return nil, "", err
	}
	r := newReading(l, hosts, minCm, "line")
	for n := 0; ; n++ {
		if n%4096 == 0 && ctx.Err() != nil {
			return nil, "", ctx.Err()
		}
		in.left = maxLine
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return r, crs.WKT, nil
		} else if err != nil {
			return nil, "", lineError(c, err)
		}
		line, _ := c.FieldPos(0)
		value := func(i int) vector.Value {
			if i < 0 || strings.TrimSpace(row[i]) == "" {
				return vector.Value{}
			}
			return vector.TextValue(row[i])
		}
		x, okX := value(l.x).Float()
		y, okY := value(l.y).Float()
		if !okX || !okY || !crs.Projected && !onGlobe(x, y) {
			r.misplaced(int64(line), okX && okY && !crs.Projected, x, y)
			continue
		}
		if err := r.add(x, y, int64(line), value); err != nil {
			return nil, "", err
		}
	}
}

// placeCRS is the system the CSV's places are in: what was named, else WGS 84
// when the columns say longitude and latitude. It is never guessed otherwise.
func (s TreeSource) placeCRS(l layout) (raster.CRS, error) {
	if s.CRS == "" {
		if !l.lonLat {
			return raster.CRS{}, errors.New("the system its x and y are in is not known; name it, as in \"EPSG:26917\", or call the columns lon and lat for degrees")
		}
		return raster.DescribeCRS(raster.WGS84())
	}
	crs, err := raster.ParseCRS(s.CRS)
	if err == nil && l.lonLat && crs.Projected {
		err = fmt.Errorf("its columns are called lon and lat, but %q is not in degrees; name x and y, or a system in degrees", crs.Name)
	}
	return crs, err
}

// misplaced counts a record without a usable place.
func (r *reading) misplaced(at int64, degrees bool, x, y float64) {
	r.badPlace.add(r.what, at)
	if degrees && math.Abs(y) > 90 && onGlobe(y, x) {
		r.turned++
	}
}

// onGlobe tells whether degrees can be a place. Nought and nought is how many
// programs write "no place" (common practice, no source).
func onGlobe(lon, lat float64) bool {
	return lon >= -360 && lon <= 360 && lat >= -90 && lat <= 90 && (lon != 0 || lat != 0)
}

// skipMark leaves out the byte order mark some programs put first.
func skipMark(r io.Reader) io.Reader {
	b := bufio.NewReader(r)
	if head, _ := b.Peek(3); string(head) == "\xef\xbb\xbf" {
		_, _ = b.Discard(3)
	}
	return b
}

func lineError(c *csv.Reader, err error) error {
	var at *csv.ParseError
	if errors.As(err, &at) {
		return fmt.Errorf("line %d: %w", at.Line, at.Err)
	}
	if errors.Is(err, errLongLine) {
		return fmt.Errorf("a record after byte %d is %w", c.InputOffset(), err)
	}
	return err
}
