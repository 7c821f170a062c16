package web

import (
	"fmt"
	"net/http"
	"sync"
	"testing"
)

// TestPagesAtOnce: four people look at pages, one of them at findings that are being
// worked out, and one keeps readings, all at the same time. Under the race detector
// it is the test of what pages share: the guard, what is remembered, the zippers, the templates
// of a language.
func TestPagesAtOnce(t *testing.T) {
	s, pages := benchInUse(t)
	large := s.bringIn(60)
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			for j := range 12 {
				path := pages[(5*i+j)%len(pages)]
				if j%4 == i {
					path = large + "/findings"
				}
				caller := *s // a browser of the same person
				caller.Client = &http.Client{Jar: s.Jar, CheckRedirect: s.CheckRedirect}
				for {
					asked := caller.request("GET", path, "", "")
					if i == 3 { // who reads German, for whom the templates are parsed now
						asked.Header.Set("Accept-Language", "de")
					}
					a := caller.do(asked)
					if a.StatusCode == http.StatusTooManyRequests { // faster than anybody may ask
						continue
					}
					if a.StatusCode != http.StatusOK {
						t.Errorf("%s: status %d", path, a.StatusCode)
					}
					break
				}
			}
		})
	}
	all.Go(func() {
		for i := range 6 {
			s.post("/people", form1("name", fmt.Sprint("Reader ", i), "role", "reader"))
		}
	})
	all.Wait()
}
