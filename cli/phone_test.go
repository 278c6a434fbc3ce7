package cli

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestQR: an independent reader finds the address in the code that the terminal shows.
func TestQR(t *testing.T) {
	reader, err := exec.LookPath("zbarimg")
	if err != nil {
		t.Skip("zbarimg is not installed; make tools installs it")
	}
	const want = "https://192.168.1.23:7433/set-up?key=0123456789abcdef0123456789abcdef0123456789abcdef"
	var b bytes.Buffer
	if err := writeQR(&b, want, false); err != nil {
		t.Fatal(err)
	}
	const px = 6
	lines := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
	img := image.NewGray(image.Rect(0, 0, px*len([]rune(lines[0])), 2*px*len(lines)))
	for y, line := range lines {
		for x, r := range []rune(line) {
			for half, light := range []bool{r == '█' || r == '▀', r == '█' || r == '▄'} {
				for i := range px * px {
					if light {
						img.SetGray(px*x+i%px, px*(2*y+half)+i/px, color.Gray{Y: 255})
					}
				}
			}
		}
	}
	file := filepath.Join(t.TempDir(), "qr.png")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
	f.Close()
	out, err := exec.Command(reader, "-q", "--raw", file).Output()
	if err != nil || strings.TrimSpace(string(out)) != want {
		t.Errorf("zbarimg reads %q, %v", out, err)
	}
}

// TestPortTaken: the next free port is taken and said; behind a proxy, which knows one port, a taken one is refused.
func TestPortTaken(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	said := ""
	f := listenFlags{listen: taken.Addr().String()}
	d, err := f.open("", func(s string) { said = s })
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	_, was, _ := net.SplitHostPort(taken.Addr().String())
	_, is, _ := net.SplitHostPort(d.Addr().String())
	if was == is || !strings.Contains(said, "Port "+was+" is taken") || !strings.Contains(said, is) || !strings.HasSuffix(d.shown, ":"+is) {
		t.Errorf("%s, then %s: said %q, shown %s", was, is, said, d.shown)
	}
	f = listenFlags{listen: taken.Addr().String(), behindProxy: true, trusted: []string{"127.0.0.1"}, names: []string{"ward.example"}}
	if d, err := f.open("", func(string) {}); err == nil {
		d.Close()
		t.Error("a proxy would not find it at another port")
	}
}

// TestSayPhone: on this computer alone it says what a phone takes, in the open it says the address.
func TestSayPhone(t *testing.T) {
	for name, x := range map[string]struct {
		f    listenFlags
		want string
	}{
		"this computer": {listenFlags{listen: "127.0.0.1:0"}, "--tls-self"},
		"the network":   {listenFlags{listen: "0.0.0.0:0", tlsSelf: true, names: []string{"ward.example"}}, "https://ward.example/x"},
	} {
		d, err := x.f.open(filepath.Join(t.TempDir(), "c.pem"), func(string) {})
		if err != nil {
			t.Fatal(name, err)
		}
		var b bytes.Buffer
		if err := sayPhone(herald{&b, false}, d, "https://ward.example/x"); err != nil || !strings.Contains(b.String(), x.want) {
			t.Errorf("%s: %q, %v", name, b.String(), err)
		}
		d.Close()
	}
}
