package cli

import (
	"io"
	"net"
	"os"
	"strings"

	"github.com/boombuler/barcode/qr"
	"golang.org/x/term"
)

// sayPhone says how a phone on the same network gets here: by an address to type or scan, or what it takes.
func sayPhone(out herald, d *door, address string) error {
	host, port, err := net.SplitHostPort(d.Addr().String())
	if err != nil {
		return nil // behind a proxy it is the proxy that phones reach
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsLoopback() && len(d.proxies) == 0 {
		lan := lanAddress()
		if lan == "" {
			lan = "ADDRESS"
		}
		return out.say("Only this computer reaches that. For a phone on the same network, stop and start with: lowtide serve --listen "+net.JoinHostPort(lan, port)+" --tls-self. "+
			"The phone then warns of a certificate that nobody vouches for: compare the fingerprint that is printed here before you go on. A certificate of your own takes a name: --name, --tls-cert, --tls-key.", "")
	}
	if d.secure {
		if err := out.say("A phone on the same network opens this address. If it warns of the certificate, compare the fingerprint printed above before you go on", address); err != nil {
			return err
		}
		if f, ok := out.w.(*os.File); ok && !out.json && term.IsTerminal(int(f.Fd())) {
			return writeQR(f, address, true)
		}
	}
	return nil
}

// lanAddress is the first private IPv4 address of this computer; empty when it has none.
func lanAddress() string {
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return ""
	}
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsPrivate() {
			return n.IP.String()
		}
	}
	return ""
}

// quietModules is the light rim of a QR code that readers need (ISO/IEC 18004).
const quietModules = 4

// writeQR draws a QR code with half blocks, two rows of modules to a line. colour makes dark modules black on white
// whatever the colours of the terminal; without it light modules are drawn, for light letters on a dark ground.
func writeQR(w io.Writer, text string, colour bool) error {
	code, err := qr.Encode(text, qr.M, qr.Unicode)
	if err != nil {
		return err
	}
	size := code.Bounds().Dx()
	light := func(x, y int) bool {
		if x < 0 || y < 0 || x >= size || y >= size {
			return true
		}
		r, _, _, _ := code.At(x, y).RGBA()
		return r > 0
	}
	var b strings.Builder
	for y := -quietModules; y < size+quietModules; y += 2 {
		if colour {
			b.WriteString("\x1b[38;5;231m\x1b[48;5;16m")
		}
		for x := -quietModules; x < size+quietModules; x++ {
			switch up, down := light(x, y), light(x, y+1); {
			case up && down:
				b.WriteRune('█')
			case up:
				b.WriteRune('▀')
			case down:
				b.WriteRune('▄')
			default:
				b.WriteRune(' ')
			}
		}
		if colour {
			b.WriteString("\x1b[0m")
		}
		b.WriteByte('\n')
	}
	_, err = io.WriteString(w, b.String())
	return err
}
