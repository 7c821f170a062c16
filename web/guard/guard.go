// Package guard stands before every page: who is asking, from where, how often, and
// how much.
package guard

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"slices"
	"strings"

	"knownwater/web/page"
)

// Guard lets requests through to the pages of a site.
type Guard struct {
	site     *page.Site
	hosts    hostList
	everyone *limiter
}

// Each caller may ask this much: a phone at the bench asks a few times a
// minute, a person clicking about a few times a second.
const (
	burst     = 300
	perSecond = 20
)

// New makes the guard of a site. A bench that other machines reach must ask who
// they are.
func New(s *page.Site) (*Guard, error) {
	o := s.Options
	if !o.SignIn && !Loopback(o.Listen) {
		return nil, fmt.Errorf("listening on %s needs sign-in: other machines reach it", o.Listen)
	}
	return &Guard{s, allowedHosts(o.Listen, o.Hosts), newLimiter(burst, perSecond)}, nil
}

// contentPolicy lets a page use what this server sends and nothing else: no
// inline script, no inline style, no frame around it, no other host.
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; " +
	"connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// Wrap guards every address. From the outside in: a Host that this server answers
// to (against DNS rebinding, which same-origin rules do not stop on GET), a
// rate for each caller, no cross-site writes, and the headers of every answer.
func (g *Guard) Wrap(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		g.site.Refuse(w, r, http.StatusForbidden, "This was sent from another site.",
			"Open the page on this bench and send it from there.")
	}))
	next = cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		setHeaders(w.Header(), g.site.Options.TLS || Loopback(r.Host))
		if !g.hosts.allows(r.Host) {
			g.site.Refuse(w, r, http.StatusMisdirectedRequest, "This bench does not answer to that address.",
				"Use the address that `knownwater serve` printed, or name another with --host.")
			return
		}
		if !g.everyone.allow(Caller(r), g.site.Now()) {
			w.Header().Set("Retry-After", "10")
			g.site.Refuse(w, r, http.StatusTooManyRequests, "Too many requests came from here.", "Wait ten seconds and try again.")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// setHeaders sets what every answer carries. On plain http by a name a browser
// ignores the opener policy and complains of it, so it is left out there.
func setHeaders(h http.Header, secure bool) {
	h.Set("Content-Security-Policy", contentPolicy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	if secure {
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
	}
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=(), usb=()")
	h.Set("Cache-Control", "private, max-age=0")
}

// hostList holds the names and addresses that the server answers to.
type hostList map[string]bool

// allows looks at the host without its port: the port was chosen by whoever
// reached this server.
func (l hostList) allows(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return l[strings.ToLower(strings.Trim(host, "[]"))]
}

// allowedHosts are the loopback names and, when the server listens elsewhere,
// the addresses and names of this machine and those that its owner added.
func allowedHosts(listen string, extra []string) hostList {
	l := hostList{"localhost": true, "127.0.0.1": true, "::1": true}
	for _, h := range extra {
		l[strings.ToLower(h)] = true
	}
	if Loopback(listen) {
		return l
	}
	for _, a := range machineAddresses() {
		l[a.String()] = true
	}
	if host, _, err := net.SplitHostPort(listen); err == nil && host != "" {
		l[strings.ToLower(host)] = true
	}
	if name, err := os.Hostname(); err == nil && name != "" {
		name = strings.ToLower(name)
		l[name], l[name+".local"] = true, true
	}
	return l
}

// machineAddresses are the addresses at which a phone on the same network may
// find this machine.
func machineAddresses() []netip.Addr {
	var out []netip.Addr
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	for _, a := range all {
		p, err := netip.ParsePrefix(a.String())
		if err == nil && !p.Addr().IsLoopback() && !p.Addr().IsLinkLocalUnicast() {
			out = append(out, p.Addr().Unmap())
		}
	}
	return out
}

// Loopback says whether an address to listen on can be reached from this
// machine only.
func Loopback(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return false
	}
	if host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.IsLoopback()
}

// Caller is the address that a request came from. Forwarding headers are not
// believed: there is no proxy in front of a bench.
func Caller(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// limitBody stops reading a request that is larger than a form can be.
func limitBody(max int64, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, max)
		next(w, r)
	}
}

// Sizes above which a request is refused.
const (
	maxForm   = 256 << 10
	MaxBatch  = 1 << 20
	MaxTable  = 2 << 20
	MaxPhoto  = 12 << 20
	MaxImport = 64 << 20
)

// Names are the names and addresses by which browsers reach the bench, for its
// certificate.
func Names(o page.Options) []string {
	var out []string
	for n := range allowedHosts(o.Listen, o.Hosts) {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// Address is what a phone opens: the first address of this machine on its
// network, or the loopback address where nothing else is listened on.
func Address(o page.Options) string {
	scheme := "http://"
	if o.TLS {
		scheme = "https://"
	}
	host, port, err := net.SplitHostPort(o.Listen)
	if err != nil {
		return scheme + o.Listen
	}
	if a, err := netip.ParseAddr(host); len(o.Hosts) > 0 {
		host = o.Hosts[0]
	} else if err == nil && a.IsUnspecified() {
		for _, m := range machineAddresses() {
			if m.Is4() {
				host = m.String()
				break
			}
		}
	}
	return scheme + net.JoinHostPort(host, port)
}
