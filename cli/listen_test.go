package cli

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestListen: beyond this computer only encrypted, or behind a proxy that is named.
func TestListen(t *testing.T) {
	cert := filepath.Join(t.TempDir(), "cert.pem")
	for _, c := range []struct {
		name   string
		f      listenFlags
		wrong  string
		secure bool
	}{
		{"this computer", listenFlags{listen: "localhost:0"}, "", false},
		{"this computer, TLS", listenFlags{listen: "127.0.0.1:0", tlsSelf: true}, "", true},
		{"everywhere", listenFlags{listen: "0.0.0.0:0"}, "without encryption", false},
		{"everywhere, short", listenFlags{listen: ":0"}, "in digits", false},
		{"everywhere, six", listenFlags{listen: "[::]:0"}, "without encryption", false},
		{"a name", listenFlags{listen: "example.org:0"}, "in digits", false},
		{"nonsense", listenFlags{listen: "nonsense"}, "not an address", false},
		{"another address", listenFlags{listen: "192.168.1.5:0"}, "without encryption", false},
		{"TLS without a name", listenFlags{listen: "0.0.0.0:0", tlsSelf: true}, "--name", false},
		{"TLS with a name", listenFlags{listen: "0.0.0.0:0", tlsSelf: true, names: []string{"ward.example"}}, "", true},
		{"half a certificate", listenFlags{listen: "127.0.0.1:0", cert: "x"}, "belong together", false},
		{"no such certificate", listenFlags{listen: "127.0.0.1:0", cert: "/none", key: "/none"}, "--tls-cert", false},
		{"proxy without address", listenFlags{listen: "127.0.0.1:0", behindProxy: true}, "--trusted", false},
		{"address without proxy", listenFlags{listen: "127.0.0.1:0", trusted: []string{"10.0.0.5"}}, "--trusted", false},
		{"everybody is the proxy", listenFlags{listen: "127.0.0.1:0", behindProxy: true, trusted: []string{"0.0.0.0/0"}}, "--trusted", false},
		{"two ways", listenFlags{listen: "127.0.0.1:0", tlsSelf: true, behindProxy: true, trusted: []string{"10.0.0.5"}}, "take one", false},
		{"proxy", listenFlags{listen: "127.0.0.1:0", behindProxy: true, trusted: []string{"127.0.0.0/8"}, names: []string{"ward.example"}}, "", true},
	} {
		d, err := c.f.open(cert, func(string) {})
		switch {
		case c.wrong == "" && err != nil, c.wrong != "" && (err == nil || !strings.Contains(err.Error(), c.wrong)):
			t.Errorf("%s: %v, want %q", c.name, err, c.wrong)
		case err == nil && d.secure != c.secure:
			t.Errorf("%s: secure %v", c.name, d.secure)
		}
		if err == nil {
			d.Close()
		}
	}
}

// TestSelfSigned: the certificate is kept, guarded, made anew for another name or when it runs out, and works.
func TestSelfSigned(t *testing.T) {
	file := filepath.Join(t.TempDir(), "cert.pem")
	said := ""
	open := func(names ...string) *door {
		t.Helper()
		f := listenFlags{listen: "127.0.0.1:0", tlsSelf: true, names: names}
		d, err := f.open(file, func(s string) { said = s })
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	d := open()
	first := strings.TrimSuffix(said, " (made anew)")
	if first == said || len(first) < 95 {
		t.Errorf("said %q", said)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	go http.Serve(d, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "in") }))
	raw, _ := os.ReadFile(file)
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(raw)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}
	res, err := client.Get("https://" + d.Addr().String() + "/")
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if _, err := tls.Dial("tcp", d.Addr().String(), &tls.Config{RootCAs: pool, MaxVersion: tls.VersionTLS11}); err == nil {
		t.Error("TLS 1.1 is taken")
	}
	d.Close()
	open().Close()
	if said != first {
		t.Errorf("made again: %q", said)
	}
	open("ward.example").Close()
	if !strings.HasSuffix(said, "(made anew)") {
		t.Errorf("a new name: %q", said)
	}
	before := said
	now = func() time.Time { return time.Now().Add(390 * 24 * time.Hour) }
	defer func() { now = time.Now }()
	open("ward.example").Close()
	if said == before || !strings.HasSuffix(said, "(made anew)") {
		t.Errorf("a year later: %q", said)
	}
	if err := os.WriteFile(file, []byte("rubbish"), 0o600); err != nil {
		t.Fatal(err)
	}
	f := listenFlags{listen: "127.0.0.1:0", tlsSelf: true}
	if _, err := f.open(file, func(string) {}); err == nil || !strings.Contains(err.Error(), "move it away") {
		t.Errorf("rubbish: %v", err)
	}
}

// TestBehindProxy: whoever is not the proxy is not answered.
func TestBehindProxy(t *testing.T) {
	for trusted, want := range map[string]bool{"127.0.0.1": true, "127.0.0.0/8": true, "10.0.0.0/8": false} {
		f := listenFlags{listen: "127.0.0.1:0", behindProxy: true, trusted: []string{trusted}}
		d, err := f.open("", nil)
		if err != nil {
			t.Fatal(err)
		}
		go http.Serve(d, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "in") }))
		client := &http.Client{Timeout: 3 * time.Second, Transport: &http.Transport{DialContext: (&net.Dialer{}).DialContext}}
		res, err := client.Get("http://" + d.Addr().String() + "/")
		if (err == nil) != want {
			t.Errorf("trusted %s: %v", trusted, err)
		}
		if err == nil {
			res.Body.Close()
		}
		d.Close()
	}
}
