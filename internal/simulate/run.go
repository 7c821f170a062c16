package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// experiment is one made-up trial drawn again and again. A run gives numbers that
// are added up; every run depends on its own number alone.
type experiment struct {
	name string
	dear bool // fitted by a sampler: fewer runs
	run  func(run int) []float64
}

// counts is what an experiment has come to.
type counts struct {
	Runs int
	Sum  []float64
}

// rate is a share of the runs, in per cent.
func (c counts) rate(i int) float64 { return 100 * c.Sum[i] / float64(c.Runs) }

func (c *counts) add(v []float64) {
	c.Runs++
	if c.Sum == nil {
		c.Sum = make([]float64, len(v))
	}
	for i, x := range v {
		c.Sum[i] += x
	}
}

// table is a table of the document: experiments, and how lines are made of them.
type table struct {
	name, title, head, foot string
	of                      []experiment
	lines                   func(i int, c counts) []string
}

// keeper remembers what experiments came to, in a folder where one is given.
type keeper struct {
	dir string
	mu  sync.Mutex
	all map[string]counts
}

func (k *keeper) path(name string) string {
	clean := strings.Map(func(r rune) rune {
		if r < 128 && (r >= 'a' && r <= 'z' || r >= '0' && r <= '9') {
			return r
		}
		return '-'
	}, strings.ToLower(name))
	return filepath.Join(k.dir, clean+".json")
}

func (k *keeper) counts(name string) counts {
	k.mu.Lock()
	defer k.mu.Unlock()
	if c, ok := k.all[name]; ok || k.dir == "" {
		return c
	}
	var c counts
	if text, err := os.ReadFile(k.path(name)); err == nil {
		if err := json.Unmarshal(text, &c); err != nil {
			c = counts{}
		}
	}
	k.all[name] = c
	return c
}

func (k *keeper) keep(name string, c counts) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.all[name] = c
	if k.dir == "" {
		return nil
	}
	text, err := json.Marshal(c)
	if err != nil {
		return err
	}
	part := k.path(name) + ".part"
	if err := os.WriteFile(part, text, 0o644); err != nil {
		return err
	}
	return os.Rename(part, k.path(name))
}

// passes are how far all experiments are taken before any is taken further, so that
// whoever stops has whole tables.
var passes = []int{20, 60, 100, 300, 1000, 3000, 10000}

// batch is how many runs are made between two looks at the clock.
const batch = 20

// settings are how much is run.
type settings struct {
	runs, dear, workers int
	from                int // number of the first trial
	until               time.Time
	progress            io.Writer
}

// fill runs experiments as far as wanted.
func (k *keeper) fill(list []experiment, s settings) error {
	began := time.Now()
	for _, pass := range passes {
		for i, e := range list {
			want := s.runs
			if e.dear {
				want = s.dear
			}
			want = min(want, pass)
			for c := k.counts(e.name); c.Runs < want; c = k.counts(e.name) {
				if !s.until.IsZero() && time.Now().After(s.until) {
					return nil
				}
				n := min(batch, want-c.Runs)
				for _, v := range collect(n, s.workers, func(j int) []float64 { return e.run(s.from + c.Runs + j) }) {
					c.add(v)
				}
				if err := k.keep(e.name, c); err != nil {
					return err
				}
				fmt.Fprintf(s.progress, "\r%4d s, to %d: %d of %d, %s: %d runs \x1b[K", int(time.Since(began).Seconds()), pass, i+1, len(list), e.name, c.Runs)
			}
		}
		if pass >= max(s.runs, s.dear) {
			break
		}
	}
	fmt.Fprintln(s.progress)
	return nil
}

// collect runs trials on a few goroutines; each's result goes to its own place, so
// that sums do not depend on who was first.
func collect[T any](runs, workers int, one func(run int) T) []T {
	out := make([]T, runs)
	var wg sync.WaitGroup
	for part := range workers {
		wg.Go(func() {
			for i := part; i < runs; i += workers {
				out[i] = one(i)
			}
		})
	}
	wg.Wait()
	return out
}

// text is a table as it stands in the document.
func (t table) text(k *keeper) string {
	var b strings.Builder
	fmt.Fprintf(&b, "### %s\n\n%s\n", t.title, t.head)
	fmt.Fprintln(&b, strings.Repeat("|---", strings.Count(t.head, "|")-1)+"|")
	for i, e := range t.of {
		c := k.counts(e.name)
		if c.Runs == 0 {
			continue
		}
		for _, l := range t.lines(i, c) {
			fmt.Fprintln(&b, l)
		}
	}
	if t.foot != "" {
		fmt.Fprintf(&b, "\n%s\n", t.foot)
	}
	return b.String()
}

// write puts tables into a document, each between its own marks. One of which nothing
// was run stays as it is.
func write(file string, tables []table, k *keeper) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	doc := string(text)
	for _, t := range tables {
		if !slices.ContainsFunc(t.of, func(e experiment) bool { return k.counts(e.name).Runs > 0 }) {
			continue
		}
		open, shut := "<!-- table "+t.name+" -->\n", "<!-- /table "+t.name+" -->"
		from, to := strings.Index(doc, open), strings.Index(doc, shut)
		if from < 0 || to < from {
			return fmt.Errorf("%s has no place for the table %s: it wants the lines %q and %q", file, t.name, strings.TrimSpace(open), shut)
		}
		doc = doc[:from+len(open)] + t.text(k) + doc[to:]
	}
	return os.WriteFile(file, []byte(doc), 0o644)
}
