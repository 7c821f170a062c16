package intake

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"knownwater/science/history"
)

// FuzzLog reads a log as anything: what is taken is written and read again as it was.
func FuzzLog(f *testing.F) {
	for _, s := range []string{
		"", "taken_at,water,method,reading\n", "taken_at,water,method,reading\n2026-03-03,Riff,Meter,5.1\n",
		"taken_at;water;method;reading;known;u_known\n2026-03-03T09:00;Riff;Meter;5,1;;\n2026-03-04;;Meter;4,9;5,0;0,1\n",
		"taken_at,water,method,reading,lot,reader,technique,dilution,pair\n2026-03-03T09:00:30+01:00,Riff,Card,2..5,A,Ines,careful,8,p1\n",
		"taken_at,water,method,reading,nitrite,u_nitrite\n2026-03-03,Riff,Meter,<1,0.1,0.02\n2026-03-04,Riff,Meter,3d,,\n",
		"taken_at,water,method,reading\n3.4.2026,Riff,Meter,5.1\n31.12.99 24:00,Riff,Meter,n/a\n",
		"taken_at,water,method,reading\n0000-00-00,'=1+1,\"Me\nter\",1e999\n",
	} {
		f.Add([]byte(s), "")
		f.Add([]byte(s), DatesDayFirst)
	}
	f.Fuzz(func(t *testing.T, data []byte, dates string) {
		if !slices.Contains([]string{DatesISO, DatesDayFirst, DatesMonthLead}, dates) {
			return
		}
		got, err := Log(Source{Name: "log.csv", Data: data}, Options{Dates: dates, Zone: time.UTC, Rest: true})
		if err != nil {
			checkFaults(t, err)
			return
		}
		if len(got.Rest) != len(got.Entries) {
			t.Fatalf("%d rows, what is left beside %d", len(got.Entries), len(got.Rest))
		}
		for _, e := range got.Entries {
			known := !e.Check || e.Known >= 0 && e.UKnown >= 0 && finite(e.Known) && finite(e.UKnown)
			nitrite := e.Nitrite >= 0 && e.UNitrite >= 0 && finite(e.Nitrite) && finite(e.UNitrite)
			if !known || !nitrite || !(e.Dilution > 0) || !finite(e.Dilution) || e.Method == "" || e.Water == "" && !e.Check || e.At.IsZero() || e.Row < 2 {
				t.Fatalf("%+v", e)
			}
		}
		var b bytes.Buffer
		if err := WriteLog(&b, got.Entries); err != nil {
			t.Fatal(err)
		}
		again, err := Log(Source{Name: "again.csv", Data: b.Bytes()}, Options{Zone: time.UTC})
		if err != nil {
			t.Fatalf("%v\nfrom\n%s", err, b.String())
		}
		if d := cmp.Diff(got.Entries, again.Entries, cmpopts.IgnoreFields(history.Entry{}, "Row"), cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("%s\nfrom\n%s", d, b.String())
		}
	})
}
