package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"knownwater/science/assess"
)

// Document is a page of findings taken apart to be checked.
type Document struct {
	Inputs  Inputs
	Version string // of the program that made it
	Seed    uint64 // of its draws

	page      []byte // without its signature
	signature []byte
	findings  []byte // the data block
	row       int    // where it stands
	packed    packedInputs
	strange   string // a key of the inputs that this version does not write; empty: none
}

// Open takes a page of a trial's findings apart, as Apart does.
func Open(r io.Reader) (Document, error) {
	d, err := Apart(r)
	if err == nil && d.OfLog() {
		err = fault("a page of a log", "a trial's report; knownwater recheck takes both")
	}
	return d, err
}

// OfLog says that the page is of a log, not of a trial.
func (d Document) OfLog() bool { return len(d.Inputs.Records) > 0 }

// OfExperiment says that the page is of an experiment that was judged by a log.
func (d Document) OfExperiment() bool { return d.OfLog() && d.Inputs.Options[SaidTreated] != "" }

// Apart takes a page apart, by itself or in a pack. What is no such page, is damaged, too large, or says
// the same thing twice comes back as a Fault.
func Apart(r io.Reader) (Document, error) {
	page, err := io.ReadAll(io.LimitReader(r, maxPage+1))
	if err != nil {
		return Document{}, fmt.Errorf("reading the report: %w", err)
	}
	if len(page) > maxPage {
		return Document{}, fault("the file is larger than any report", "a report of at most %d MB", maxPage>>20)
	}
	if zipped(page) {
		if page, err = pageOf(page); err != nil {
			return Document{}, err
		}
	}
	var d Document
	if d.page, d.signature, err = unsigned(page); err != nil {
		return d, err
	}
	page = d.page
	var at int
	if d.findings, at, err = block(page, findingsID); err != nil {
		return d, err
	}
	d.row = rowAt(page, at)
	inputs, _, err := block(page, inputsID)
	if err != nil {
		return d, err
	}
	var head struct {
		Version string `json:"version"`
		Seed    uint64 `json:"seed"`
	}
	for _, b := range []struct {
		what string
		raw  []byte
		into any
	}{{"findings", d.findings, &head}, {"inputs", inputs, &d.packed}} {
		if err := twice(b.raw); err != nil {
			return d, damaged(b.what, err)
		}
		if err := json.Unmarshal(b.raw, b.into); err != nil {
			return d, damaged(b.what, err)
		}
	}
	d.Version, d.Seed = head.Version, head.Seed
	dec := json.NewDecoder(bytes.NewReader(inputs))
	dec.DisallowUnknownFields()
	if err := dec.Decode(new(packedInputs)); err != nil { // it could be read above: a key is unknown
		d.strange = strings.TrimPrefix(err.Error(), "json: ")
	}
	d.Inputs, err = d.packed.unpack()
	return d, err
}

// twice finds a key that stands twice in one object: a reader could take the one
// and a program the other. Keys that differ in capitals only count as the same,
// because the decoder takes them so.
func twice(raw []byte) error {
	type level struct {
		keys  map[string]bool // nil in a list
		isKey bool
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var open []level
	for {
		token, err := dec.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		now := len(open) - 1
		if key, ok := token.(string); ok && now >= 0 && open[now].isKey {
			folded := strings.ToLower(key)
			if open[now].keys[folded] {
				return fmt.Errorf("the key %.60q stands twice", key)
			}
			open[now].keys[folded], open[now].isKey = true, false
			continue
		}
		switch token {
		case json.Delim('{'):
			open = append(open, level{map[string]bool{}, true})
			continue
		case json.Delim('['):
			open = append(open, level{})
			continue
		case json.Delim('}'), json.Delim(']'):
			open = open[:now]
			now--
		}
		if now < 0 {
			if dec.More() {
				return errors.New("something follows its end")
			}
			continue
		}
		open[now].isKey = open[now].keys != nil
	}
}

// Row is the line that the findings stand in.
func (d Document) Row() int { return d.row }

func rowAt(page []byte, at int) int { return 1 + bytes.Count(page[:at], []byte{'\n'}) }

// Numbers lists where the findings in the page say something else than those that
// were computed again; numbers are the same when they agree to the given number
// of digits, texts only when equal. Of a page by another version only what both
// versions write is compared.
func (d Document) Numbers(again assess.Findings, digits int) ([]Difference, error) {
	return d.numbers(wireOf(again), again.Version, digits)
}

func (d Document) numbers(again any, version string, digits int) ([]Difference, error) {
	printed, err := decoded(d.findings)
	if err != nil {
		return nil, damaged("findings", err)
	}
	now, err := json.Marshal(again)
	if err != nil {
		return nil, fmt.Errorf("writing the findings: %w", err)
	}
	fresh, err := decoded(now)
	if err != nil {
		return nil, err
	}
	c := comparison{tolerance: math.Pow10(-digits), common: d.Version != version}
	for _, top := range []any{printed, fresh} {
		if m, ok := top.(map[string]any); ok {
			delete(m, "version")
		}
	}
	c.walk("", printed, fresh)
	return c.out, nil
}

func decoded(raw []byte) (v any, err error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	err = dec.Decode(&v)
	return v, err
}
