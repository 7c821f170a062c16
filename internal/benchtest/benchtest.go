// Package benchtest is a bench for tests of its subjects: people, methods, a plan,
// and something in every table.
package benchtest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/science/unit"
)

var ctx = context.Background()

// What every test bench has.
var (
	Nitrate = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	Seaward = unit.Water{Salinity: 35, Temperature: 25}
	Owner   = knownwater.Who{Name: "Olive", Role: knownwater.Owner, Device: "this computer"}
)

// Clock is a bench's clock that a test moves.
type Clock struct {
	T  time.Time
	mu sync.Mutex
}

// Now is the time, a second later each time it is asked.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.T = c.T.Add(time.Second)
	return c.T
}

// Shed is a bench for a test, with two methods, three people and a need.
type Shed struct {
	*bench.Bench
	T          *testing.T
	Path       string
	Clock      *Clock
	Card       knownwater.MethodVersion // chart, read together
	Meter      knownwater.MethodVersion // display, dealt out
	Ines, Tomo knownwater.Who
	Need       knownwater.NeedEntry
	Lot        knownwater.Lot
}

// CardSpec is a chart.
func CardSpec() knownwater.MethodSpec {
	return knownwater.MethodSpec{
		Name: "Violet card", Kind: knownwater.Chart, Scale: Nitrate,
		Swatches: []knownwater.Swatch{{Value: 0, Colour: "#ffffff"}, {Value: 1, Colour: "#f4e0f0"}, {Value: 2.5, Colour: "#e0b0d8"}, {Value: 5, Colour: "#c070b0"}, {Value: 10, Colour: "#903080"}},
		Steps: []knownwater.Step{{Name: "fill", Seconds: 60, HandsOn: true}, {Name: "shake", Seconds: 60, HandsOn: true},
			{Name: "stand", Seconds: 300}, {Name: "read", Seconds: 20, Within: 120}},
		Dilution:  knownwater.Dilution{Over: 5, SampleML: 1, USampleML: 0.02, WaterML: 7, UWaterML: 0.07, SampleDevice: "1 mL syringe", WaterDevice: "10 mL syringe"},
		PackPrice: 18.5, PackTests: 50, Minutes: 7, HandsOnMinutes: 3, Caution: "Zinc powder: keep dry.",
	}
}

// MeterSpec is a display.
func MeterSpec() knownwater.MethodSpec {
	low, high := 0.0, 30.0
	return knownwater.MethodSpec{Name: "Pocket meter", Kind: knownwater.Display, Scale: Nitrate, Resolution: 0.1, RangeLow: &low, RangeHigh: &high,
		PackPrice: 20, PackTests: 25, Minutes: 10, HandsOnMinutes: 4}
}

// New makes a bench in a folder of the test.
func New(t *testing.T) *Shed {
	t.Helper()
	s := &Shed{T: t, Path: filepath.Join(t.TempDir(), "bench.db"), Clock: &Clock{T: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}}
	s.Open()
	t.Cleanup(func() { s.Close() })
	s.Card = Must(s.SaveMethod(ctx, Owner, 0, CardSpec(), ""))(t)
	s.Meter = Must(s.SaveMethod(ctx, Owner, 0, MeterSpec(), ""))(t)
	s.Ines, s.Tomo = s.Somebody("Ines"), s.Somebody("Tomo")
	s.Somebody("Wren")
	s.Need = Must(s.SaveNeed(ctx, Owner, knownwater.NeedEntry{Scale: Nitrate, Need: knownwater.Need{Name: "keep it low", Low: 0.5, High: 8,
		Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}, TestsAMonth: 12}}))(t)
	s.Lot = Must(s.SaveLot(ctx, Owner, knownwater.Lot{MethodID: s.Card.ID, Code: "A1", OpenedOn: "2026-02-01", ExpiresOn: "2027-08-31", Tests: 50}))(t)
	return s
}

// Open opens the bench, again after it was closed.
func (s *Shed) Open() {
	s.T.Helper()
	s.Bench = Must(bench.Open(s.Path, bench.Options{Now: s.Clock.Now}))(s.T)
}

// Somebody adds a reader.
func (s *Shed) Somebody(name string) knownwater.Who {
	s.T.Helper()
	p := Must(s.SavePerson(ctx, Owner, knownwater.Person{Name: name, Role: knownwater.Reader}))(s.T)
	return knownwater.Who{Person: p.ID, Name: name, Role: knownwater.Reader, Device: "phone of " + name}
}

// SQL is the bench's file past all operations, for tests that look or tamper.
func SQL(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=foreign_keys(1)&_pragma=recursive_triggers(1)&_pragma=busy_timeout(5000)")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// Exec runs a statement past all operations.
func Exec(t testing.TB, path, statement string) error {
	t.Helper()
	_, err := SQL(t, path).Exec(statement)
	return err
}

// Rows are all rows of a table as text, a row a line.
func Rows(t testing.TB, path, table string) string {
	t.Helper()
	rows, err := SQL(t, path).Query("select * from " + table)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for rows.Next() {
		cells, into := make([]any, len(columns)), make([]any, len(columns))
		for i := range cells {
			into[i] = &cells[i]
		}
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&out, "%#v\n", cells) // with types: 1, 1.0, "1" and nothing differ
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// Must(f())(t) is the value of f, or the end of the test.
func Must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// WantRefusal wants a refusal of a kind.
func WantRefusal(t *testing.T, err error, kind knownwater.RefusalKind) {
	t.Helper()
	if !errors.Is(err, &knownwater.Refusal{Kind: kind}) {
		t.Fatalf("error %v, want a refusal: %s", err, kind)
	}
}

// WantFault wants a fault in a column.
func WantFault(t *testing.T, err error, column string) {
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

// Plan is a small plan of both methods.
func (s *Shed) Plan() trials.Plan {
	return trials.Plan{
		Title: "Card against meter", Scale: Nitrate, Water: Seaward, Seed: 7,
		Methods: []trials.PlanMethod{
			{VersionID: s.Card.VersionID, Lots: []int64{s.Lot.ID}, Together: true},
			{VersionID: s.Meter.VersionID},
		},
		Knowns: []trials.Known{
			{Label: "blank", Level: 0.1, U: 0.08, Blank: true},
			{Label: "stock one", Level: 1.7, U: 0.02, UShared: 0.01},
			{Label: "stock two", Level: 6.9, U: 0.05, UShared: 0.04, UBackground: 0.02, Matrix: "salt mix"},
		},
		Needs: []int64{s.Need.ID}, Readers: []int64{s.Ines.Person, s.Tomo.Person},
		Sessions: 2, Replicates: 2, Blanks: 2, Check: "stock one", Duplicates: 1,
	}
}

// Sealed is a trial with its key shut.
func (s *Shed) Sealed(p trials.Plan) trials.Trial {
	s.T.Helper()
	r := Must(s.NewTrial(ctx, Owner, p))(s.T)
	return Must(s.SealPlan(ctx, Owner, r.ID))(s.T)
}

var keys int

// NewKey is a key as a phone would make it.
func NewKey() string {
	keys++
	return fmt.Sprintf("test-key-%012d", keys)
}

// Seen is a plausible reading of a method, for a test that does not care.
func Seen(m trials.RunMethod) string {
	if len(m.Spec.Swatches) > 0 {
		return "1..2.5"
	}
	return "3.4"
}

// ReadAll takes every reading that is still to be taken, and says how many.
func (s *Shed) ReadAll(trial int64, readers ...knownwater.Who) (n int) {
	s.T.Helper()
	for _, who := range readers {
		for session := 1; session <= 2; session++ {
			run := Must(s.Run(ctx, who, trial, session))(s.T)
			for _, v := range run.Vials {
				if len(v.Mine) > 0 {
					continue
				}
				Must(s.KeepReading(ctx, who, trials.NewReading{Key: NewKey(), Vial: v.ID, Text: Seen(MethodOf(run, v.Method))}))(s.T)
				n++
			}
		}
	}
	return n
}

// MethodOf is a method of a run.
func MethodOf(run trials.Run, version int64) trials.RunMethod {
	for _, m := range run.Methods {
		if m.VersionID == version {
			return m
		}
	}
	return trials.RunMethod{}
}
