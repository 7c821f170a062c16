package waters

import (
	"context"
	crand "crypto/rand"
	"encoding/binary"
	"fmt"
	"math/rand/v2"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/plan"
)

// Vial is a blind vial: what it holds is on the bench, its code on the glass.
type Vial struct {
	knownwater.Sample
	Name string // of the water; empty: known water
	Read int    // results of it
	Made knownwater.Stamp
}

// mostBlind vials are made at once.
const mostBlind = 40

// PrepareBlind codes vials of known water, and of waters among which they are hidden: whoever
// enters what a vial reads names its code and does not see what it holds. Each sample is kept
// before it is tested; its code is on no other vial of the bench. Owner.
func (b *Operations) PrepareBlind(ctx context.Context, by knownwater.Who, samples []knownwater.Sample) (codes []string, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	if n := len(samples); n == 0 || n > mostBlind {
		return nil, knownwater.Faults{knownwater.Fault{Column: "vials", Found: "%d vials", Want: "1 to %d of them"}.Of(n, mostBlind)}
	}
	var seed [16]byte
	if _, err := crand.Read(seed[:]); err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(binary.LittleEndian.Uint64(seed[:8]), binary.LittleEndian.Uint64(seed[8:])))
	err = b.write(ctx, func(t tx) error {
		taken, err := store.All(t.Tx, blindCodes, store.Value[string])
		if err != nil {
			return err
		}
		all, err := plan.Codes(len(samples)+len(taken), rng)
		if err != nil {
			return knownwater.Faults{knownwater.Fault{Column: "vials", Found: "%d coded vials so far", Want: "fewer: the codes are used up"}.Of(len(taken))}
		}
		used := map[string]bool{}
		for _, c := range taken {
			used[c] = true
		}
		codes = nil
		for _, c := range all {
			if !used[c] && len(codes) < len(samples) {
				codes = append(codes, c)
			}
		}
		for i, s := range samples {
			s.Vial = codes[i]
			if _, err := insertNew(t.Tx, by, s); err != nil {
				return err
			}
		}
		return t.Note(by, 0, fmt.Sprintf("coded %d blind vials", len(samples)), "")
	})
	return codes, err
}

// BlindVials are the coded vials, newest first, with what they hold. Owner.
func (b *Operations) BlindVials(ctx context.Context, by knownwater.Who, most int) (list []Vial, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, blindVials, scanVial, most)
		return err
	})
	return list, err
}

// blindSample is the sample that a code stands for.
func blindSample(t store.Tx, code string) (int64, error) {
	ids, err := store.All(t, blindByCode, store.Value[int64], code)
	if err == nil && len(ids) == 0 {
		return 0, knownwater.Faults{{Column: "vial", Found: fmt.Sprintf("%.20q", code), Want: "the code on a blind vial of this bench"}}
	}
	if err != nil {
		return 0, err
	}
	return ids[0], nil
}

// HasBlind says whether there is a coded vial that was not read yet.
func (b *Operations) HasBlind(ctx context.Context) (open bool) {
	_ = b.read(ctx, func(t tx) error { // a choice more or less
		n, err := store.One(t.Tx, "sample", blindOpen, store.Value[int])
		open = n > 0
		return err
	})
	return open
}
