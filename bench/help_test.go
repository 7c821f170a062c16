package bench

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/unit"
)

var ctx = context.Background()

var (
	nitrate = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	seaward = unit.Water{Salinity: 35, Temperature: 25}
	owner   = knownwater.Who{Name: "Olive", Role: knownwater.Owner, Device: "this computer"}
)

// clock is a bench's clock that a test moves.
type clock struct {
	t  time.Time
	mu sync.Mutex
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(time.Second)
	return c.t
}

// shed is a bench for a test, with two methods, three people and a need.
type shed struct {
	*Bench
	t          *testing.T
	path       string
	clock      *clock
	card       knownwater.MethodVersion // chart, read together
	meter      knownwater.MethodVersion // display, dealt out
	ines, tomo knownwater.Who
	need       knownwater.NeedEntry
	lot        knownwater.Lot
}

func cardSpec() knownwater.MethodSpec {
	return knownwater.MethodSpec{
		Name: "Violet card", Kind: knownwater.Chart, Scale: nitrate,
		Swatches: []knownwater.Swatch{{Value: 0, Colour: "#ffffff"}, {Value: 1, Colour: "#f4e0f0"}, {Value: 2.5, Colour: "#e0b0d8"}, {Value: 5, Colour: "#c070b0"}, {Value: 10, Colour: "#903080"}},
		Steps: []knownwater.Step{{Name: "fill", Seconds: 60, HandsOn: true}, {Name: "shake", Seconds: 60, HandsOn: true},
			{Name: "stand", Seconds: 300}, {Name: "read", Seconds: 20, Within: 120}},
		Dilution:  knownwater.Dilution{Over: 5, SampleML: 1, USampleML: 0.02, WaterML: 7, UWaterML: 0.07, SampleDevice: "1 mL syringe", WaterDevice: "10 mL syringe"},
		PackPrice: 18.5, PackTests: 50, Minutes: 7, HandsOnMinutes: 3, Caution: "Zinc powder: keep dry.",
	}
}

func meterSpec() knownwater.MethodSpec {
	low, high := 0.0, 30.0
	return knownwater.MethodSpec{Name: "Pocket meter", Kind: knownwater.Display, Scale: nitrate, Resolution: 0.1, RangeLow: &low, RangeHigh: &high,
		PackPrice: 20, PackTests: 25, Minutes: 10, HandsOnMinutes: 4}
}

func newShed(t *testing.T) *shed {
	t.Helper()
	s := &shed{t: t, path: filepath.Join(t.TempDir(), "bench.db"), clock: &clock{t: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}}
	s.open()
	t.Cleanup(func() { s.Close() })
	s.card = must(s.SaveMethod(ctx, owner, 0, cardSpec(), ""))(t)
	s.meter = must(s.SaveMethod(ctx, owner, 0, meterSpec(), ""))(t)
	s.ines, s.tomo = s.person("Ines"), s.person("Tomo")
	s.person("Wren")
	s.need = must(s.SaveNeed(ctx, owner, knownwater.NeedEntry{Scale: nitrate, Need: knownwater.Need{Name: "keep it low", Low: 0.5, High: 8,
		Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}, TestsAMonth: 12}}))(t)
	s.lot = must(s.SaveLot(ctx, owner, knownwater.Lot{MethodID: s.card.ID, Code: "A1", OpenedOn: "2026-02-01", ExpiresOn: "2027-08-31", Tests: 50}))(t)
	return s
}

func (s *shed) open() {
	s.t.Helper()
	s.Bench = must(Open(s.path, Options{Now: s.clock.now}))(s.t)
}

func (s *shed) person(name string) knownwater.Who {
	s.t.Helper()
	p := must(s.SavePerson(ctx, owner, knownwater.Person{Name: name, Role: knownwater.Reader}))(s.t)
	return knownwater.Who{Person: p.ID, Name: name, Role: knownwater.Reader, Device: "phone of " + name}
}

// raw is the bench's file past all operations, for tests that look or tamper.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=foreign_keys(1)&_pragma=recursive_triggers(1)&_pragma=busy_timeout(5000)")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// must(f())(t) is the value of f, or the end of the test.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func wantRefusal(t *testing.T, err error, kind knownwater.RefusalKind) {
	t.Helper()
	if !errors.Is(err, &knownwater.Refusal{Kind: kind}) {
		t.Fatalf("error %v, want a refusal: %s", err, kind)
	}
}

// wantFault wants a fault in a column.
func wantFault(t *testing.T, err error, column string) {
	t.Helper()
	var fs knownwater.Faults
	if !errors.As(err, &fs) {
		t.Fatalf("error %v, want faults", err)
	}
	for _, f := range fs {
		if f.Column == column {
			return
		}
	}
	t.Fatalf("faults %v, want one in %q", err, column)
}

// plan is a small plan of both methods.
func (s *shed) plan() Plan {
	return Plan{
		Title: "Card against meter", Scale: nitrate, Water: seaward, Seed: 7,
		Methods: []PlanMethod{
			{VersionID: s.card.VersionID, Lots: []int64{s.lot.ID}, Together: true},
			{VersionID: s.meter.VersionID},
		},
		Knowns: []Known{
			{Label: "blank", Level: 0.1, U: 0.08, Blank: true},
			{Label: "stock one", Level: 1.7, U: 0.02, UShared: 0.01},
			{Label: "stock two", Level: 6.9, U: 0.05, UShared: 0.04, Matrix: "salt mix"},
		},
		Needs: []int64{s.need.ID}, Readers: []int64{s.ines.Person, s.tomo.Person},
		Sessions: 2, Replicates: 2, Blanks: 2, Check: "stock one", Duplicates: 1,
	}
}

// sealed is a trial with its key shut.
func (s *shed) sealed(p Plan) Trial {
	s.t.Helper()
	r := must(s.NewTrial(ctx, owner, p))(s.t)
	return must(s.SealPlan(ctx, owner, r.ID))(s.t)
}

var keys int

// newKey is a key as a phone would make it.
func newKey() string {
	keys++
	return fmt.Sprintf("test-key-%012d", keys)
}

// seen is a plausible reading of a method, for a test that does not care.
func seen(m RunMethod) string {
	if m.Spec.Kind == knownwater.Chart {
		return "1..2.5"
	}
	return "3.4"
}

// readAll takes every reading that is still to be taken, and says how many.
func (s *shed) readAll(trial int64, readers ...knownwater.Who) (n int) {
	s.t.Helper()
	for _, who := range readers {
		for session := 1; session <= 2; session++ {
			run := must(s.Run(ctx, who, trial, session))(s.t)
			for _, v := range run.Vials {
				if len(v.Mine) > 0 {
					continue
				}
				must(s.KeepReading(ctx, who, NewReading{Key: newKey(), Vial: v.ID, Text: seen(method(run, v.Method))}))(s.t)
				n++
			}
		}
	}
	return n
}

func method(run Run, version int64) RunMethod {
	for _, m := range run.Methods {
		if m.VersionID == version {
			return m
		}
	}
	return RunMethod{}
}
