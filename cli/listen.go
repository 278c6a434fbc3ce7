package cli

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
)

// listenFlags say where to listen and how what goes over the wire is kept secret.
type listenFlags struct {
	listen      string
	names       []string
	tlsSelf     bool
	cert, key   string
	behindProxy bool
	trusted     []string
}

func (f *listenFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.listen, "listen", "127.0.0.1:7433", "address to listen on; beyond this computer only with TLS or behind a proxy; port 0 takes a free one")
}

func (f *listenFlags) addWide(c *cobra.Command) {
	c.Flags().StringSliceVar(&f.names, "name", nil, "a name under which browsers reach this server; may be given several times")
	c.Flags().BoolVar(&f.tlsSelf, "tls-self", false, "encrypt with a certificate of Lowtide's own, which is made once and kept beside the store")
	c.Flags().StringVar(&f.cert, "tls-cert", "", "encrypt with this certificate (PEM, with its chain)")
	c.Flags().StringVar(&f.key, "tls-key", "", "the certificate's private key (PEM)")
	c.Flags().BoolVar(&f.behindProxy, "behind-proxy", false, "a proxy in front encrypts; only --trusted addresses are answered")
	c.Flags().StringSliceVar(&f.trusted, "trusted", nil, "addresses of the proxy, such as 10.0.0.0/8 or 192.168.1.5; may be given several times")
}

// door is an open listener and what the server has to know about it.
type door struct {
	net.Listener
	secure  bool
	proxies []netip.Prefix
	hosts   []string
	// shown is the address to print, such as https://ward.example:7433.
	shown string
}

// open listens. certFile is where a certificate of Lowtide's own is kept.
func (f *listenFlags) open(certFile string, say func(string)) (*door, error) {
	host, port, err := net.SplitHostPort(f.listen)
	if err != nil {
		return nil, errUsage{fmt.Errorf("--listen %q is not an address; type for example --listen 127.0.0.1:7433", f.listen)}
	}
	if host == "localhost" {
		host = "127.0.0.1"
	}
	ip := net.ParseIP(host)
	loopback := ip != nil && ip.IsLoopback()
	ways := 0
	for _, on := range []bool{f.tlsSelf, f.cert != "" || f.key != "", f.behindProxy} {
		if on {
			ways++
		}
	}
	switch {
	case ways > 1:
		return nil, errUsage{errors.New("take one of --tls-self, --tls-cert with --tls-key, and --behind-proxy")}
	case (f.cert == "") != (f.key == ""):
		return nil, errUsage{errors.New("--tls-cert and --tls-key belong together: name both files")}
	case f.behindProxy == (len(f.trusted) == 0):
		return nil, errUsage{errors.New("--behind-proxy and --trusted belong together: name the proxy's address, such as --trusted 10.0.0.5")}
	case ip == nil:
		return nil, errUsage{fmt.Errorf("--listen %q: name an address in digits; names that browsers use go into --name", f.listen)}
	case !loopback && ways == 0:
		return nil, errUsage{fmt.Errorf("--listen %q would let other computers in without encryption. Add --tls-self, or --tls-cert and --tls-key, or --behind-proxy with --trusted; or stay on this computer: --listen 127.0.0.1:%s", f.listen, port)}
	case ip.IsUnspecified() && len(f.names) == 0:
		return nil, errUsage{errors.New("say under which name browsers reach this server: --name ward.example")}
	}
	d := &door{secure: ways > 0, hosts: f.names}
	if !ip.IsUnspecified() {
		d.hosts = append(d.hosts, host)
	}
	if d.proxies, err = prefixes(f.trusted); err != nil {
		return nil, err
	}
	conf, err := f.tls(certFile, host, say)
	if err != nil {
		return nil, err
	}
	ln, err := f.take(host, port, say)
	if err != nil {
		if errors.Is(err, syscall.EADDRINUSE) {
			return nil, fmt.Errorf("%w; is Lowtide running already? Take another port: --listen 127.0.0.1:0", err)
		}
		return nil, errUsage{fmt.Errorf("--listen %q: %w; type for example --listen 127.0.0.1:7433", f.listen, err)}
	}
	d.Listener = ln
	_, port, _ = net.SplitHostPort(ln.Addr().String())
	scheme, shown := "http", "localhost"
	switch {
	case len(f.names) > 0:
		shown = f.names[0]
	case !loopback || host != "127.0.0.1":
		shown = host
	}
	if f.behindProxy {
		d.Listener = onlyFrom{ln, d.proxies}
	}
	if conf != nil {
		scheme, d.Listener = "https", tls.NewListener(ln, conf)
	}
	d.shown = scheme + "://" + net.JoinHostPort(shown, port)
	if f.behindProxy {
		d.shown = "https://" + shown // the proxy's own port is not known here
	}
	return d, nil
}

// nextPorts is how many ports after one that is taken are tried.
const nextPorts = 20

// take listens on the port, or on the next free one when it is taken, and says so. A proxy knows one port only: there a
// taken one is an error.
func (f *listenFlags) take(host, port string, say func(string)) (net.Listener, error) {
	ln, err := net.Listen("tcp", net.JoinHostPort(host, port))
	first, numErr := strconv.Atoi(port)
	if !errors.Is(err, syscall.EADDRINUSE) || f.behindProxy || numErr != nil {
		return ln, err
	}
	for n := first + 1; n <= min(first+nextPorts, 65535); n++ {
		next, nextErr := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(n)))
		if nextErr == nil {
			say(fmt.Sprintf("Port %d is taken, perhaps by another Lowtide. This one is at port %d.", first, n))
			return next, nil
		}
	}
	return nil, err
}

func prefixes(list []string) ([]netip.Prefix, error) {
	var out []netip.Prefix
	for _, text := range list {
		p, err := netip.ParsePrefix(text)
		if a, addrErr := netip.ParseAddr(text); addrErr == nil {
			p, err = netip.PrefixFrom(a, a.BitLen()), nil
		}
		if err != nil || p.Bits() == 0 {
			return nil, errUsage{fmt.Errorf("--trusted %q is no address and no range such as 10.0.0.0/8", text)}
		}
		out = append(out, p.Masked())
	}
	return out, nil
}

// onlyFrom takes connections from a proxy alone: anybody else could say where a request came from.
type onlyFrom struct {
	net.Listener
	from []netip.Prefix
}

// Accept waits for the next connection from a trusted address.
func (o onlyFrom) Accept() (net.Conn, error) {
	for {
		c, err := o.Listener.Accept()
		if err != nil {
			return nil, err
		}
		a, parseErr := netip.ParseAddrPort(c.RemoteAddr().String())
		for _, p := range o.from {
			if parseErr == nil && p.Contains(a.Addr().Unmap()) {
				return c, nil
			}
		}
		c.Close()
	}
}

// tls is the configuration, or nil without TLS. Versions before 1.2 are refused.
func (f *listenFlags) tls(certFile, host string, say func(string)) (*tls.Config, error) {
	var pair tls.Certificate
	var err error
	switch {
	case f.tlsSelf:
		if pair, err = selfSigned(certFile, append([]string{"localhost", "127.0.0.1", "::1", host}, f.names...), say); err != nil {
			return nil, err
		}
	case f.cert != "":
		if pair, err = tls.LoadX509KeyPair(f.cert, f.key); err != nil {
			return nil, errUsage{fmt.Errorf("--tls-cert and --tls-key: %w", err)}
		}
	default:
		return nil, nil
	}
	return &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}}, nil
}

const (
	// selfFor is how long a certificate of Lowtide's own is good; browsers refuse longer ones.
	selfFor = 397 * 24 * time.Hour
	// renewBefore is how early it is made anew.
	renewBefore = 14 * 24 * time.Hour
)

// selfSigned reads the certificate that was made before, or makes one when there is none, it runs out soon or does not
// carry a name that is asked for. say tells the fingerprint, which people compare in the browser's warning.
func selfSigned(file string, names []string, say func(string)) (tls.Certificate, error) {
	raw, err := os.ReadFile(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return tls.Certificate{}, err
	}
	if err == nil {
		pair, err := tls.X509KeyPair(raw, raw)
		if err != nil {
			return pair, fmt.Errorf("%s does not read as a certificate with its key: %w; move it away and a new one is made", file, err)
		}
		fits := now().Add(renewBefore).Before(pair.Leaf.NotAfter) && !now().Before(pair.Leaf.NotBefore)
		for _, n := range names {
			fits = fits && (net.ParseIP(n) != nil && net.ParseIP(n).IsUnspecified() || pair.Leaf.VerifyHostname(n) == nil)
		}
		if fits {
			say(fingerprint(pair))
			return pair, nil
		}
	}
	raw, err = newSelfSigned(names)
	if err != nil {
		return tls.Certificate{}, err
	}
	// Written beside and renamed, so that a crash leaves the old one or the new one.
	if err := os.WriteFile(file+".next", raw, 0o600); err != nil {
		return tls.Certificate{}, err
	}
	if err := os.Rename(file+".next", file); err != nil {
		return tls.Certificate{}, err
	}
	pair, err := tls.X509KeyPair(raw, raw)
	if err == nil {
		say(fingerprint(pair) + " (made anew)")
	}
	return pair, err
}

func fingerprint(pair tls.Certificate) string {
	sum := sha256.Sum256(pair.Certificate[0])
	parts := make([]string, len(sum))
	for i, b := range sum {
		parts[i] = fmt.Sprintf("%02X", b)
	}
	return "Certificate of this server, SHA-256 fingerprint: " + strings.Join(parts, ":")
}

func newSelfSigned(names []string) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, err
	}
	c := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "Lowtide"}, NotBefore: now().Add(-time.Hour), NotAfter: now().Add(selfFor),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	seen := map[string]bool{}
	for _, n := range names {
		ip := net.ParseIP(n)
		switch {
		case seen[n] || ip != nil && ip.IsUnspecified():
		case ip != nil:
			c.IPAddresses = append(c.IPAddresses, ip)
		default:
			c.DNSNames = append(c.DNSNames, n)
		}
		seen[n] = true
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &key.PublicKey, key)
	if err != nil {
		return nil, err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})...), nil
}
