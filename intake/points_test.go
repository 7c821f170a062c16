package intake

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"knownwater/science/curve"
	"knownwater/science/note"
)

func TestPoints(t *testing.T) {
	got, err := Points(src("points.csv", "level;signal;u_level;role;session;replicate;dilution;lamp;u_background\n0;-0,003;;fit;1;a;;x;\n5;0,412;0,02;check;2;b;8;y;0,01\n"))
	want := PointsFile{
		Points: []curve.Point{
			{Level: 0, Signal: -0.003, Session: "1", Replicate: "a", Dilution: 1, Row: 2},
			{Level: 5, ULevel: 0.02, UBackground: 0.01, Signal: 0.412, Check: true, Session: "2", Replicate: "b", Dilution: 8, Row: 3},
		},
		Notes: []note.Note{note.New("unknown-columns").Name("file", "points.csv").Name("columns", "lamp"), note.New("decimal-commas").Name("file", "points.csv"),
			note.New("u-level-missing").Number("rows", 1).Number("all", 2)},
	}
	if d := cmp.Diff(want, got); err != nil || d != "" {
		t.Error(err, d)
	}
	_, err = Points(src("points.csv", "level,signal,role,dilution,u_level\n-1,x,test,0,-1\n1,inf,,,\n1,,,,\n1,2\n"))
	wantFaults := strings.TrimPrefix(`
points.csv:2:level: "-1": a concentration from 0 up
points.csv:2:signal: "x" is not a number: the signal, a number
points.csv:2:u_level: "-1": a standard uncertainty from 0 up
points.csv:2:dilution: "0": a factor above 0 (8 for 1 part sample and 7 parts pure water)
points.csv:2:role: "test": fit or check
points.csv:3:signal: "inf" is not a number: the signal, a number
points.csv:4:signal: nothing: the signal, a number
points.csv:5: 2 cells: 5, as the header has (leave a cell empty rather than out)`, "\n")
	if d := cmp.Diff(wantFaults, err.Error()); d != "" {
		t.Error(d)
	}
	for text, want := range map[string]string{
		"":                 "points.csv: an empty file: a header row with level, signal, and a row for each line of data",
		"level,signal\n":   "points.csv:1: a header and no points: a row for each point",
		"level,absorb\n1,": `points.csv:1:signal: no such column in the header "level,absorb": a header row with level, signal, separated by comma, semicolon or tab`,
	} {
		if _, err := Points(src("points.csv", text)); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}
