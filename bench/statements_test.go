package bench_test

import (
	"testing"

	"knownwater/internal/benchtest"
	"knownwater/sqlite"
)

// TestEveryStatementPrepares prepares every statement against the schema.
func TestEveryStatementPrepares(t *testing.T) {
	s := benchtest.New(t)
	n := 0
	for _, q := range sqlite.Statements() {
		st, err := benchtest.SQL(t, s.Path).Prepare(q)
		if err != nil {
			t.Errorf("%v in:\n%s", err, q)
			continue
		}
		st.Close()
		n++
	}
	if n < 60 {
		t.Errorf("%d statements prepared", n)
	}
}
