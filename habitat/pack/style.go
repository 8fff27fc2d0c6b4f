package pack

import (
	"encoding/xml"
	"fmt"
	"strings"

	"rillwood/habitat/picture"
	"rillwood/habitat/results"
)

// styleOf is the ramp of the picture for suitability.tif, as a Styled Layer
// Descriptor (OGC 02-070, SLD 1.0.0): viewers go straight between the stops,
// with their opacity. Ground without data (−9999) stays clear, since it lies
// below the first.
func styleOf(run *results.Run) string {
	var b strings.Builder
	text := func(s string) string {
		var e strings.Builder
		xml.EscapeText(&e, []byte(plain(s))) // a strings.Builder takes everything
		return e.String()
	}
	b.WriteString(xml.Header)
	b.WriteString(`<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">` + "\n")
	b.WriteString(" <NamedLayer>\n  <Name>suitability</Name>\n  <UserStyle>\n   <Name>suitability</Name>\n")
	fmt.Fprintf(&b, "   <Title>Suitability, %s</Title>\n   <Abstract>0 poor, 1 look here first; run %s. A map says where to look, never what is safe to eat.</Abstract>\n", text(nameOf(run)), text(run.ID))
	b.WriteString("   <FeatureTypeStyle>\n    <Rule>\n     <RasterSymbolizer>\n      <Opacity>1</Opacity>\n      <ColorMap>\n")
	b.WriteString(`       <ColorMapEntry color="#ffffff" quantity="-0.001" opacity="0" label="no data"/>` + "\n")
	for _, s := range picture.Ramp() {
		fmt.Fprintf(&b, `       <ColorMapEntry color="#%02x%02x%02x" quantity="%g" opacity="%.3f" label="%g"/>`+"\n", s.Color.R, s.Color.G, s.Color.B, s.Value, float64(s.Color.A)/255, s.Value)
	}
	b.WriteString("      </ColorMap>\n     </RasterSymbolizer>\n    </Rule>\n   </FeatureTypeStyle>\n  </UserStyle>\n </NamedLayer>\n</StyledLayerDescriptor>\n")
	return b.String()
}
