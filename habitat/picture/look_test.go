package picture

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var lookDir = flag.String("look", "", "folder to write the pictures of the invented valley to, for looking at")

// TestLook draws the valley in several shapes. With -look DIR the pictures
// are kept: go test -run Look -look DIR ./habitat/picture
func TestLook(t *testing.T) {
	for _, c := range []struct {
		name string
		s    Scene
	}{
		{"desktop", valley(1400, 900, 10)},
		{"square", valley(500, 460, 20)},
		{"tall", valley(300, 800, 10)},
		{"small", valley(60, 40, 30)},
		{"row", valley(900, 1, 10)},
		{"column", valley(1, 700, 10)},
	} {
		t.Run(c.name, func(t *testing.T) {
			img, err := Draw(c.s)
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
