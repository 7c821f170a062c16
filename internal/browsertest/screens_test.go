package browsertest

import "testing"

// TestScreens opens every page that an owner sees before a trial runs, on phone
// and desk: nothing wider than the screen, targets large enough, no finding of
// axe-core, no word on the console.
func TestScreens(t *testing.T) {
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	for _, path := range []string{"/", "/trials", "/methods", "/methods/new", "/needs", "/people", "/copies", "/nowhere"} {
		p.look("empty", path)
	}
	b.Furnish(t)
	for _, path := range []string{"/", "/methods", "/methods/1", "/methods/1/change", "/methods/2/change", "/needs/1", "/people/1", "/trials"} {
		p.look("furnished", path)
	}
}

// look opens a page and says all that is wrong with it.
func (p *Page) look(when, path string) {
	p.t.Helper()
	name := when + path
	p.Go(path)
	for _, s := range []Size{Phone, Desk} {
		p.Resize(s)
		p.Fits(name)
	}
	p.Accessible(name)
	if path != "/nowhere" { // a missing page is an error to a console
		p.NoConsoleErrors()
	}
	p.ConsoleErrors()
	p.Shots(file(name))
}

func file(name string) string {
	out := []rune(name)
	for i, r := range out {
		if r == '/' || r == '?' || r == '=' {
			out[i] = '_'
		}
	}
	return string(out)
}
