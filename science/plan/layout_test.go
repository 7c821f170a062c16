package plan

import (
	"reflect"
	"testing"
)

func design() Design {
	return Design{
		Knowns: []DesignKnown{{Level: 0, Blank: true}, {Level: 0.7}, {Level: 1.8}, {Level: 3.4}, {Level: 7}, {Level: 12}},
		Methods: []DesignMethod{
			{Techniques: []string{""}, Lots: 2, Together: true, DilutionOver: 5, Dilution: 8},
			{Techniques: []string{"by the book", "hasty"}, Lots: 1},
		},
		Readers: 3, Sessions: 3, Replicates: 3, Blanks: 6, Check: 3, CheckEvery: 5, Duplicates: 1,
	}
}

func lay(t *testing.T, d Design, seed uint64) []Vial {
	t.Helper()
	vials, err := Lay(d, seed)
	if err != nil {
		t.Fatal(err)
	}
	return vials
}

func TestLayFollowsFromTheSeed(t *testing.T) {
	if !reflect.DeepEqual(lay(t, design(), 7), lay(t, design(), 7)) {
		t.Error("the same seed gave two plans")
	}
	if reflect.DeepEqual(lay(t, design(), 7), lay(t, design(), 8)) {
		t.Error("two seeds gave the same plan")
	}
}

func TestLayCounts(t *testing.T) {
	d := design()
	type cell struct {
		method, known int
		technique     string
		role          Role
	}
	n := map[cell]int{}
	perSession := map[[3]int]int{} // method, known, session
	for _, v := range lay(t, d, 1) {
		n[cell{v.Method, v.Known, v.Technique, v.Role}]++
		if v.Role == Level || v.Role == Blank {
			perSession[[3]int{v.Method, v.Known, v.Session}]++
		}
	}
	for m, method := range d.Methods {
		duplicates := 0
		for _, tech := range method.Techniques {
			for k := range d.Knowns {
				role, want := Level, 3
				if k == 0 {
					role, want = Blank, 6
				}
				if got := n[cell{m, k, tech, role}]; got != want {
					t.Errorf("method %d, known %d, %q: %d vials, want %d", m, k, tech, got, want)
				}
				duplicates += n[cell{m, k, tech, Duplicate}]
			}
		}
		if duplicates != d.Sessions {
			t.Errorf("method %d: %d duplicates, want one a session", m, duplicates)
		}
	}
	for key, got := range perSession { // spread evenly: no session has two more than another
		each := d.each(key[1]) / d.Sessions * len(d.Methods[key[0]].Techniques)
		if got < each-1 || got > each+1 {
			t.Errorf("method %d, known %d, session %d: %d vials, want about %d", key[0], key[1], key[2], got, each)
		}
	}
}

// TestChecksBracket: the first and the last vial of each method in each session
// are checks, and no more than CheckEvery others come between two checks.
func TestChecksBracket(t *testing.T) {
	d := design()
	since := map[[2]int]int{} // method, session → vials since the last check; −1: that was a check
	for _, v := range lay(t, d, 3) {
		key := [2]int{v.Method, v.Session}
		n, begun := since[key]
		if v.Role == Check {
			since[key] = 0
			if v.Known != d.Check {
				t.Error("a check of another known")
			}
			continue
		}
		if !begun {
			t.Errorf("method %d, session %d does not begin with a check", v.Method, v.Session)
		}
		if since[key] = n + 1; since[key] > d.CheckEvery {
			t.Errorf("method %d, session %d: %d vials without a check", v.Method, v.Session, since[key])
		}
	}
	for key, n := range since {
		if n != 0 {
			t.Errorf("method %d, session %d does not end with a check", key[0], key[1])
		}
	}
}

func TestReadersAndLotsAreDealt(t *testing.T) {
	d := design()
	reads, lots := map[[2]int]int{}, map[[2]int]int{} // method; reader or lot
	lotsAt := map[[2]int]map[int]bool{}
	for _, v := range lay(t, d, 4) {
		for _, r := range v.Readers {
			reads[[2]int{v.Method, r}]++
		}
		lots[[2]int{v.Method, v.Lot}]++
		if k := [2]int{v.Method, v.Known}; lotsAt[k] == nil {
			lotsAt[k] = map[int]bool{v.Lot: true}
		} else {
			lotsAt[k][v.Lot] = true
		}
		if want := 3; d.Methods[v.Method].Together && len(v.Readers) != want {
			t.Errorf("vial %s has %d readers, want %d", v.Code, len(v.Readers), want)
		}
		if !d.Methods[v.Method].Together && len(v.Readers) != 1 {
			t.Errorf("vial %s has %d readers, want 1", v.Code, len(v.Readers))
		}
	}
	for m := range d.Methods {
		low, high := reads[[2]int{m, 0}], 0
		for r := range d.Readers {
			low, high = min(low, reads[[2]int{m, r}]), max(high, reads[[2]int{m, r}])
		}
		if high-low > len(d.Knowns) {
			t.Errorf("method %d: one reader has %d vials, another %d", m, high, low)
		}
	}
	for k := range d.Knowns {
		if len(lotsAt[[2]int{0, k}]) != 2 {
			t.Errorf("known %d is tested with %d of two lots", k, len(lotsAt[[2]int{0, k}]))
		}
	}
	if lots[[2]int{1, -1}] != 0 {
		t.Error("vials without a lot")
	}
}

func TestDilutedAboveTheJoin(t *testing.T) {
	for _, v := range lay(t, design(), 5) {
		want := 1.0
		if v.Method == 0 && design().Knowns[v.Known].Level > 5 {
			want = 8
		}
		if v.Dilution != want {
			t.Errorf("known %d with method %d: dilution %g, want %g", v.Known, v.Method, v.Dilution, want)
		}
	}
}

// TestOrderIsNotTheLevels: over many seeds each known comes first about equally
// often. With 600 draws of 6 equal chances the count has mean 100 and standard
// deviation √(600·1/6·5/6) = 9.1; ±45 is five of them.
func TestOrderIsNotTheLevels(t *testing.T) {
	d := design()
	d.Methods, d.Sessions, d.Check, d.Duplicates, d.Blanks = d.Methods[:1], 1, -1, 0, 3
	first := make([]int, len(d.Knowns))
	for seed := range uint64(600) {
		first[lay(t, d, seed)[0].Known]++
	}
	for k, n := range first {
		if n < 55 || n > 145 {
			t.Errorf("known %d comes first %d times of 600", k, n)
		}
	}
}

func TestLayRefuses(t *testing.T) {
	for name, change := range map[string]func(*Design){
		"no readers":    func(d *Design) { d.Readers = 0 },
		"no sessions":   func(d *Design) { d.Sessions = 0 },
		"no methods":    func(d *Design) { d.Methods = nil },
		"no knowns":     func(d *Design) { d.Knowns = nil },
		"negative":      func(d *Design) { d.Replicates = -1 },
		"no such check": func(d *Design) { d.Check = 99 },
		"huge":          func(d *Design) { d.Replicates = 1 << 30 },
		"huge sessions": func(d *Design) { d.Sessions = 1 << 20 },
	} {
		d := design()
		change(&d)
		if _, err := Lay(d, 1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestOddVialsAreSpread: of three vials in two sessions two share one; which one
// is drawn. Of 200 equal chances the count has standard deviation √50 = 7.1.
func TestOddVialsAreSpread(t *testing.T) {
	d := design()
	d.Methods, d.Sessions, d.Check, d.Duplicates = d.Methods[:1], 2, -1, 0
	firstHasTwo := 0
	for seed := range uint64(200) {
		n := 0
		for _, v := range lay(t, d, seed) {
			if v.Known == 2 && v.Session == 1 {
				n++
			}
		}
		if n == 2 {
			firstHasTwo++
		}
	}
	if firstHasTwo < 65 || firstHasTwo > 135 {
		t.Errorf("the first session has two of three vials in %d of 200 plans", firstHasTwo)
	}
}
