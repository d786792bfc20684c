package main

import (
	"fmt"
	"io"
	"strings"

	"rsc.io/qr"
)

const quietZone = 4 // modules of white that scanners want around a code (ISO/IEC 18004)

// printQR draws a QR code with half blocks, two rows of it to a line, white on
// black whatever the terminal's colours are.
func printQR(out io.Writer, text string) error {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return fmt.Errorf("the QR code of the link: %w", err)
	}
	white := func(x, y int) bool {
		return x < 0 || y < 0 || x >= code.Size || y >= code.Size || !code.Black(x, y)
	}
	for y := -quietZone; y < code.Size+quietZone; y += 2 {
		var line strings.Builder
		for x := -quietZone; x < code.Size+quietZone; x++ {
			switch up, down := white(x, y), white(x, y+1); {
			case up && down:
				line.WriteRune('█')
			case up:
				line.WriteRune('▀')
			case down:
				line.WriteRune('▄')
			default:
				line.WriteByte(' ')
			}
		}
		if _, err := fmt.Fprintf(out, "\x1b[97;40m%s\x1b[0m\n", line.String()); err != nil {
			return err
		}
	}
	return nil
}
