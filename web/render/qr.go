package render

import (
	"fmt"
	"html/template"
	"strings"

	"rsc.io/qr"
)

// QRCode draws a QR code with the quiet zone of four modules that readers of it
// need. It is black on white in dark pages too.
func QRCode(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("QR code: %w", err)
	}
	const quiet = 4
	side := code.Size + 2*quiet
	var path strings.Builder
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			run := 0
			for x+run < code.Size && code.Black(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quiet, y+quiet, run, run)
				x += run
			}
		}
	}
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" shape-rendering="crispEdges" role="img" aria-label="QR code"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="%s"/></svg>`,
		side, side, side, side, path.String())), nil
}
