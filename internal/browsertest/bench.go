package browsertest

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/science/unit"
	"knownwater/web"
)

// Bench is a bench in a file with its pages served on this machine.
type Bench struct {
	*bench.Bench
	URL string
}

// Passphrase of the benches of tests.
const Passphrase = "plain words stay long"

var owner = knownwater.Who{Role: knownwater.Owner, Name: "owner", Device: "test"}

// Serve starts an empty bench; signIn as if other machines could reach it.
func Serve(t *testing.T, signIn bool) *Bench {
	t.Helper()
	return serve(t, web.Options{SignIn: signIn})
}

// ServeAs starts an empty bench that signs in and answers to a name, too.
func ServeAs(t *testing.T, host string) *Bench {
	t.Helper()
	return serve(t, web.Options{SignIn: true, Hosts: []string{host}})
}

// ServeInvented starts an empty bench whose pages say that nothing on it was measured.
func ServeInvented(t *testing.T) *Bench { t.Helper(); return serve(t, web.Options{Invented: true}) }

func serve(t *testing.T, o web.Options) *Bench {
	t.Helper()
	dir := t.TempDir()
	b, err := bench.Open(filepath.Join(dir, "bench.db"), bench.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	if o.SignIn {
		if err := b.SetPassphrase(context.Background(), owner, Passphrase); err != nil {
			t.Fatal(err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	url := "http://" + l.Addr().String()
	o.Listen, o.BaseURL, o.Copies, o.Version = l.Addr().String(), url, filepath.Join(dir, "copies"), "test"
	o.Log = slog.New(slog.NewTextHandler(t.Output(), nil))
	s, err := web.New(b, o)
	if err != nil {
		t.Fatal(err)
	}
	srv := web.HTTPServer(s.Handler())
	go srv.Serve(l)
	t.Cleanup(func() { srv.Shutdown(context.Background()); http.DefaultClient.CloseIdleConnections() })
	return &Bench{b, url}
}

// Nitrate is the scale of the tests.
var Nitrate = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}

// Furnish puts two readers, two methods and a need on the bench; all invented.
// The waits are short, so that a test can sit through them.
func (b *Bench) Furnish(t *testing.T) {
	t.Helper()
	ctx := context.Background()
	for _, name := range []string{"Ines", "Tomo"} {
		if _, err := b.SavePerson(ctx, owner, knownwater.Person{Name: name, Role: knownwater.Reader}); err != nil {
			t.Fatal(err)
		}
	}
	low, high := 0.0, 30.0
	for _, m := range []knownwater.MethodSpec{
		{Name: "Violet card", Kind: knownwater.Chart, Scale: Nitrate, PackPrice: 18.5, PackTests: 50, Minutes: 4, HandsOnMinutes: 1,
			Caution:  "Acid in the second bottle: goggles and gloves.",
			Swatches: []knownwater.Swatch{{Value: 0.5, Colour: "#f3ead0"}, {Value: 2, Colour: "#e6dca6"}, {Value: 5, Colour: "#cfd08c"}, {Value: 10, Colour: "#9fbf8f"}, {Value: 25, Colour: "#5f9f98"}},
			Steps:    []knownwater.Step{{Name: "shake", Seconds: 1, HandsOn: true}, {Name: "stand", Seconds: 3}, {Name: "read", Within: 120}}},
		{Name: "Pocket display", Kind: knownwater.Display, Scale: Nitrate, Resolution: 0.1, RangeLow: &low, RangeHigh: &high, PackPrice: 30, PackTests: 100,
			Steps: []knownwater.Step{{Name: "read", Within: 300}}},
	} {
		saved, err := b.SaveMethod(ctx, owner, 0, m, "")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := b.SaveLot(ctx, owner, knownwater.Lot{MethodID: saved.ID, Code: "A1", OpenedOn: "2026-03-01", ExpiresOn: "2027-08-31", Tests: 60}); err != nil {
			t.Fatal(err)
		}
	}
	need := knownwater.Need{Name: "hold a low-nutrient tank", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}, TestsAMonth: 12}
	if _, err := b.SaveNeed(ctx, owner, knownwater.NeedEntry{Scale: Nitrate, Need: need}); err != nil {
		t.Fatal(err)
	}
}
