package picture_test

import (
	"bytes"
	"fmt"

	"rillwood/habitat/picture"
)

// A slope of 50 × 40 cells, better at its foot.
func ExampleDraw() {
	s := picture.Scene{Title: "Alder Bottoms", W: 50, H: 40, Cell: 20}
	for y := range s.H {
		for range s.W {
			s.Elevation = append(s.Elevation, float32(300-2*y))
			s.Suitability = append(s.Suitability, float32(y)/40)
		}
	}
	s.Streams = []picture.Line{{Name: "Sedge Run", Order: 2, Points: [][2]float64{{0, 38}, {50, 37}}}}
	img, err := picture.Draw(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	var file bytes.Buffer
	if err := picture.Encode(&file, img); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(img.Rect.Dx() >= 1000, bytes.HasPrefix(file.Bytes(), []byte("\x89PNG")))
	// Output: true true
}
