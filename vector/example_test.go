package vector_test

import (
	"fmt"
	"os"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

func ExampleEncodeGeoJSON() {
	err := vector.EncodeGeoJSON(os.Stdout, vector.Collection{
		Members: []vector.Property{{Key: "title", Value: "places to look"}},
		Features: []vector.GeoFeature{{
			ID:         1,
			Geometry:   orb.Polygon{{{-75, 42}, {-75, 42.01}, {-74.99, 42.01}, {-75, 42}}},
			Properties: []vector.Property{{Key: "rank", Value: 1}, {Key: "area_ha", Value: 46.2}},
		}},
	})
	if err != nil {
		fmt.Println(err)
	}
	// Output:
	// {"type":"FeatureCollection","bbox":[-75,42,-74.99,42.01],
	// "title":"places to look",
	// "features":[
	// {"type":"Feature","id":1,"bbox":[-75,42,-74.99,42.01],"geometry":{"type":"Polygon","coordinates":[[[-75,42],[-74.99,42.01],[-75,42.01],[-75,42]]]},"properties":{"rank":1,"area_ha":46.2}}
	// ]}
}

func ExampleBurnLines() {
	f := raster.Frame{W: 5, H: 4, Y0: 40, Cell: 10}
	paths, err := vector.BurnLines(f, []orb.Geometry{orb.LineString{{5, 35}, {25, 15}, {75, 15}}})
	fmt.Println(paths[0].Cells, paths[0].Leaves, err)
	// Output: [0 6 12 13 14] true <nil>
}
