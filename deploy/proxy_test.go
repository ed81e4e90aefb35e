//go:build linux

package deploy_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenhand/internal/child"
	"evenhand/internal/testneed"
)

// host is the name in the example configuration.
const host = "giveaways.example.com"

// proxy is nginx with the example configuration, on loopback ports and with
// every file it reads or writes in a temporary folder.
type proxy struct {
	program  string
	conf     string // the configuration that includes site
	site     string // the example, with the marked values set
	written  string // folder of all that nginx writes
	log      string // its access log
	tls      *http.Transport
	plain    *http.Transport
	process  *exec.Cmd
	exited   <-chan struct{}
	messages bytes.Buffer
}

// start runs the proxy in front of any handler. It is ended with the test.
func start(t *testing.T, backend http.Handler) *proxy {
	t.Helper()
	server := httptest.NewServer(backend)
	t.Cleanup(server.Close)
	return startBefore(t, strings.TrimPrefix(server.URL, "http://"))
}

// startBefore runs the proxy in front of a server at a host:port.
func startBefore(t *testing.T, backend string) *proxy {
	t.Helper()
	p := prepare(t, backend)
	p.process = p.nginx()
	p.process.Stderr = &p.messages
	var err error
	if p.exited, err = child.Start(p.process); err != nil {
		t.Fatalf("start nginx: %v", err)
	}
	t.Cleanup(func() { p.stop(t) })
	for range 200 {
		connection, err := p.tls.DialContext(t.Context(), "tcp", "")
		if err == nil {
			connection.Close()
			return p
		}
		time.Sleep(50 * time.Millisecond)
	}
	p.stop(t)
	t.Fatalf("nginx does not answer: %s", p.messages.String())
	return nil
}

// stop ends nginx by its process id, after the requests it has begun.
func (p *proxy) stop(t *testing.T) {
	t.Helper()
	p.tls.CloseIdleConnections()
	p.plain.CloseIdleConnections()
	_ = p.process.Process.Signal(syscall.SIGTERM) // it may have ended by itself
	select {
	case <-p.exited:
	case <-time.After(30 * time.Second):
		t.Errorf("nginx did not heed SIGTERM: %v", p.process.Process.Kill())
	}
}

// prepare writes the configuration and a certificate.
func prepare(t *testing.T, backend string) *proxy {
	t.Helper()
	dir := t.TempDir()
	p := &proxy{
		program: testneed.Command(t, "nginx"), conf: filepath.Join(dir, "nginx.conf"),
		site: filepath.Join(dir, "evenhand.conf"), written: filepath.Join(dir, "written"),
	}
	p.log = filepath.Join(p.written, "evenhand.log")
	if err := os.Mkdir(p.written, 0o700); err != nil {
		t.Fatal(err)
	}
	roots := certificate(t, filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem"))
	secure, plain := free(t), free(t)
	write(t, p.site, replace(t, read(t, "nginx.conf"),
		"127.0.0.1:8080", backend,
		"listen 443 ssl", "listen "+secure+" ssl",
		"listen 80", "listen "+plain,
		"/etc/ssl/evenhand/fullchain.pem", filepath.Join(dir, "cert.pem"),
		"/etc/ssl/evenhand/privkey.pem", filepath.Join(dir, "key.pem"),
		"/var/log/nginx/evenhand.log", p.log))
	write(t, p.conf, fmt.Sprintf(frame, p.written, p.site, room(t)))
	p.tls = &http.Transport{DialContext: to(secure), TLSClientConfig: &tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12}}
	p.plain = &http.Transport{DialContext: to(plain)}
	return p
}

// frame is a main configuration as distributions have it, with an access log
// and an error log of its own that the example must not let anything into.
// One process, so that its id is all there is to end.
const frame = `daemon off;
master_process off;
pid %[1]s/nginx.pid;
error_log %[1]s/error.log;
%[3]s
http {
	access_log %[1]s/access.log;
	client_body_temp_path %[1]s/body;
	proxy_temp_path %[1]s/proxy;
	fastcgi_temp_path %[1]s/fastcgi;
	uwsgi_temp_path %[1]s/uwsgi;
	scgi_temp_path %[1]s/scgi;
	include %[2]s;
}
`

// room is what the example says should stand beside it for live pages.
func room(t *testing.T) string {
	t.Helper()
	found := regexp.MustCompile(`(?m)^#   (worker_rlimit_nofile [0-9]+;)\n#   (events \{ worker_connections [0-9]+; \})$`).FindStringSubmatch(read(t, "nginx.conf"))
	if found == nil {
		t.Fatal("the example names no room for live pages")
	}
	return found[1] + "\n" + found[2]
}

// nginx prepares a call of the program on the configuration.
func (p *proxy) nginx(args ...string) *exec.Cmd {
	return exec.Command(p.program, append([]string{"-p", p.written, "-c", p.conf, "-e", filepath.Join(p.written, "start.log")}, args...)...)
}

// to dials one address whatever the name in the URL.
func to(address string) func(context.Context, string, string) (net.Conn, error) {
	return func(ctx context.Context, _, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, "tcp", address)
	}
}

// free returns a loopback address whose port nothing listens on.
func free(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// certificate writes a self-signed certificate for host and returns who trusts it.
func certificate(t *testing.T, certFile, keyFile string) *x509.CertPool {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: host}, DNSNames: []string{host},
		NotBefore: time.Unix(0, 0), NotAfter: time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	write(t, certFile, string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})))
	write(t, keyFile, string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})))
	parsed, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(parsed)
	return roots
}
