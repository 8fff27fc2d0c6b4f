package picture

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var lookDir = flag.String("look", "", "folder to write the pictures of the invented valley to, for looking at")

// TestLook draws the valley in several shapes. With -look DIR the pictures
// are kept: go test ./habitat/picture -run Look -look DIR
func TestLook(t *testing.T) {
	for _, c := range []struct {
		name string
		w, h int
		cell float64
	}{
		{"desktop", 1400, 900, 10},
		{"square", 500, 460, 20},
		{"tall", 300, 800, 10},
		{"small", 60, 40, 30},
		{"row", 900, 1, 10},
		{"column", 1, 700, 10},
	} {
		t.Run(c.name, func(t *testing.T) {
			if *lookDir == "" && c.w > 1000 {
				t.Skip("large picture, drawn only with -look")
			}
			img, err := Draw(valley(c.w, c.h, c.cell))
			if err != nil {
				t.Fatal(err)
			}
			if long := max(img.Rect.Dx(), img.Rect.Dy()); long < 1000 {
				t.Errorf("picture is %v, want a long side of 1000 pixels or more", img.Rect)
			}
			if *lookDir == "" {
				return
			}
			f, err := os.Create(filepath.Join(*lookDir, c.name+".png"))
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			if err := Encode(f, img); err != nil {
				t.Fatal(err)
			}
		})
	}
}
