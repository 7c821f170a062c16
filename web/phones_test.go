package web

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/science/unit"
)

const phones = 50

// BenchmarkPhones lets 50 paired phones, each from an address of its own, send
// readings as fast as they are acknowledged, one in a request, over HTTP to
// loopback. An operation is one reading, so that -benchtime 40000x sends 40,000.
// The phones run in the same process: their work and memory count, too. Other
// addresses of loopback than the first are there on Linux.
func BenchmarkPhones(b *testing.B) { sendFromPhones(b, 0) }

// BenchmarkPhonesInStep sends from each phone every 49 ms, as often as the bench
// lets one ask: 1,020 a second in all. A wait counts from when the reading was
// due, so that a stall counts for all that it held up.
func BenchmarkPhonesInStep(b *testing.B) { sendFromPhones(b, 49*time.Millisecond) }

func sendFromPhones(b *testing.B, pace time.Duration) {
	s := newSite(b, true)
	s.signInAsOwner()
	s.must("/methods/new", displayForm())
	var callers []*site
	for i := range phones {
		s.must("/people", form1("name", fmt.Sprint("Reader ", i+1), "role", "reader"))
		code, err := s.bench.NewPairing(context.Background(), knownwater.Who{Role: knownwater.Owner}, int64(i+1), time.Minute)
		if err != nil {
			b.Fatal(err)
		}
		phone := s.from(net.IPv4(127, 0, 1, byte(i+1)))
		phone.must("/pair/"+code.Token, nil)
		callers = append(callers, phone)
	}
	vials := s.vialsFor(phones, b.N)
	var sent, refused atomic.Int64
	waits := make([][]time.Duration, phones)
	var all sync.WaitGroup
	b.ResetTimer()
	start := time.Now()
	for i, phone := range callers {
		all.Go(func() {
			due := start.Add(time.Duration(i) * pace / phones)
			for _, v := range vials[i] {
				if sent.Add(1) > int64(b.N) {
					return
				}
				entry := fmt.Sprintf(`{"entries":[{"kind":"keep","reader":%d,"key":"load%016d%04d","vial":%d,"text":"2.1"}]}`, i+1, v.id, i, v.id)
				began := time.Now()
				if pace > 0 {
					time.Sleep(time.Until(due))
					began, due = due, due.Add(pace)
				}
				for {
					a := phone.do(phone.request("POST", v.path, "application/json", entry))
					if a.StatusCode == http.StatusTooManyRequests { // each may ask 20 times a second
						refused.Add(1)
						time.Sleep(50 * time.Millisecond)
						if pace == 0 {
							began = time.Now()
						}
						continue
					}
					if a.StatusCode != http.StatusOK || strings.Contains(a.body, "refused") {
						b.Errorf("status %d: %s", a.StatusCode, a.body)
						return
					}
					waits[i] = append(waits[i], time.Since(began))
					break
				}
			}
		})
	}
	all.Wait()
	b.StopTimer()
	w := slices.Sorted(slices.Values(slices.Concat(waits...)))
	b.ReportMetric(float64(len(w))/b.Elapsed().Seconds(), "readings/s")
	b.ReportMetric(ms(w[len(w)/2]), "ms-50%")
	b.ReportMetric(ms(w[len(w)*99/100]), "ms-99%")
	b.ReportMetric(ms(w[len(w)-1]), "ms-longest")
	b.ReportMetric(float64(refused.Load()), "told-to-wait")
	if status, err := os.ReadFile("/proc/self/status"); err == nil {
		var kB float64
		if _, after, ok := bytes.Cut(status, []byte("VmHWM:")); ok {
			fmt.Sscan(string(after), &kB)
		}
		b.ReportMetric(kB/1024, "MB-peak")
	}
}

// from is the same site in a browser at another address.
func (s *site) from(ip net.IP) *site {
	c := s.as()
	dial := net.Dialer{LocalAddr: &net.TCPAddr{IP: ip}}
	c.Transport = &http.Transport{DialContext: dial.DialContext, MaxIdleConnsPerHost: 1}
	s.t.Cleanup(c.CloseIdleConnections)
	return c
}

// toRead is a vial and where its reading goes.
type toRead struct {
	id   int64
	path string
}

// vialsFor seals trials until every phone has its share of n vials, and one more.
func (s *site) vialsFor(phones, n int) [][]toRead {
	s.t.Helper()
	ctx, owner := context.Background(), knownwater.Who{Name: "owner", Role: knownwater.Owner}
	methods, err := s.bench.Methods(ctx)
	if err != nil {
		s.t.Fatal(err)
	}
	p := trials.Plan{Title: "Load", Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.Water{Salinity: 35, Temperature: 25}, Sessions: 2, Replicates: 100, Blanks: 100,
		Methods: []trials.PlanMethod{{VersionID: methods[0].VersionID}}, Knowns: []trials.Known{{Label: "blank", Blank: true}}}
	for i := range 4 {
		p.Knowns = append(p.Knowns, trials.Known{Label: fmt.Sprint("known ", i), Level: 1.5 * float64(i+1), U: 0.02})
	}
	for i := range phones {
		p.Readers = append(p.Readers, int64(i+1))
	}
	vials := make([][]toRead, phones)
	for slices.ContainsFunc(vials, func(v []toRead) bool { return len(v) <= 2*n/phones }) { // a quick phone takes more than its share
		r, err := s.bench.NewTrial(ctx, owner, p)
		if err == nil {
			r, err = s.bench.SealPlan(ctx, owner, r.ID)
		}
		if err != nil {
			s.t.Fatal(err)
		}
		for i := range vials {
			for session := range p.Sessions {
				run, err := s.bench.Run(ctx, knownwater.Who{Person: int64(i + 1), Role: knownwater.Reader}, r.ID, session+1)
				if err != nil {
					s.t.Fatal(err)
				}
				for _, v := range run.Vials {
					vials[i] = append(vials[i], toRead{v.ID, fmt.Sprintf("/trials/%d/entries", r.ID)})
				}
			}
		}
	}
	return vials
}
