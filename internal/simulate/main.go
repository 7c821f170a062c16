// Command simulate measures how often the printed statements are right, on
// made-up trials of the sizes that people really run, and prints the tables of
// docs/accuracy.md. Same runs, same tables.
//
//	go run ./internal/simulate -runs 1000 -dear 300 -keep DIR -write docs/accuracy.md
//
// It takes hours. With -keep it goes on where it was stopped; every experiment is
// taken to 20 runs first, then to 60, 100, 300, 1000, so that what is there is whole.
// With -from the trials are others: what was chosen on the tables' own is tried on them.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"
)

func main() {
	runs := flag.Int("runs", 1000, "made-up trials a row")
	dear := flag.Int("dear", 300, "of those that are fitted by a sampler")
	only := flag.String("only", "", "tables, with commas between: "+names(tables()))
	design := flag.String("design", "", "only rows whose name holds this")
	keep := flag.String("keep", "", "folder in which counts are kept, so that a later run goes on")
	doc := flag.String("write", "", "document to put the tables into; else they are printed")
	limit := flag.Duration("for", 0, "stop after this time")
	workers := flag.Int("workers", 2, "trials made at once")
	from := flag.Int("from", 0, "number of the first trial: other numbers are other trials, for what was chosen on the tables' own")
	flag.Parse()
	if err := run(os.Stdout, os.Stderr, *only, *design, *keep, *doc, *limit, settings{runs: *runs, dear: *dear, workers: *workers, from: *from}); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(out, progress io.Writer, only, design, dir, doc string, limit time.Duration, s settings) error {
	var chosen []table
	for _, t := range tables() {
		if only != "" && !slices.Contains(strings.Split(only, ","), t.name) {
			continue
		}
		chosen = append(chosen, t)
	}
	if len(chosen) == 0 {
		return fmt.Errorf("-only %s: there is no such table; there are %s", only, names(tables()))
	}
	if dir != "" {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return err
		}
	}
	k := &keeper{dir: dir, all: map[string]counts{}}
	var list []experiment
	for _, t := range chosen {
		for _, e := range t.of {
			if strings.Contains(e.name, design) && !slices.ContainsFunc(list, func(o experiment) bool { return o.name == e.name }) {
				list = append(list, e)
			}
		}
	}
	s.progress = progress
	if limit > 0 {
		s.until = time.Now().Add(limit)
	}
	if err := k.fill(list, s); err != nil {
		return err
	}
	if doc != "" {
		return write(doc, chosen, k)
	}
	for _, t := range chosen {
		fmt.Fprintln(out, t.text(k))
	}
	return nil
}

func names(list []table) string {
	var all []string
	for _, t := range list {
		all = append(all, t.name)
	}
	return strings.Join(all, ", ")
}

// tables are those of the document, in its order.
func tables() []table {
	return slices.Concat(judgedTables(), []table{roamingTable(), averageTable(), lotTable(), limitTable(), apartTable(), readingTable(), lotReadTable(), partsTable(), decideTable(), promiseTable(), honestTable(), checksTable(), driftsTable(), nextTable(), chanceTable(), chooseTable(), chooseDemoTable(), curveTable(), historyTable(), changesTable(), holdTable(), effectTable(), demoTable()})
}
