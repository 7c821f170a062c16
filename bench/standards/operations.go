// Package standards is what known water is made from and with: the shelf of
// devices, stocks and waters, prepared sets of standards with their values, and
// what a water holds itself. Things and sets are kept in versions.
package standards

import (
	"context"
	"fmt"

	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done about standards.
type Operations struct {
	store *store.Store
	from  Sources
}

// Sources are what standards take from other subjects, in their own transaction.
type Sources struct {
	Method func(t store.Tx, id int64) (knownwater.MethodVersion, error)
}

// On are the operations on an open bench.
func On(s *store.Store, from Sources) *Operations { return &Operations{s, from} }

// tx is one transaction.
type tx struct {
	store.Tx
	from Sources
}

func (b *Operations) write(ctx context.Context, f func(tx) error) error {
	return b.store.Write(ctx, func(t store.Tx) error { return f(tx{t, b.from}) })
}

func (b *Operations) read(ctx context.Context, f func(tx) error) error {
	return b.store.Read(ctx, func(t store.Tx) error { return f(tx{t, b.from}) })
}

// ByVersion is a version of a set as a trial takes its levels from it.
func ByVersion(t store.Tx, version int64) (knownwater.Standards, error) {
	s, err := (tx{Tx: t}).setVersion(version)
	if err != nil {
		return knownwater.Standards{}, err
	}
	return s.Standards(), nil
}

// KeptFaults looks into the descriptions that the tables themselves cannot check,
// so that no operation evaluates a set that cannot be.
func KeptFaults(t store.Tx) (table string, err error) {
	things, err := store.All(t, everyItem, store.ScanJSON[ItemSpec])
	if err != nil {
		return "shelf_version", err
	}
	for _, s := range things {
		if _, fs := s.tidied(); len(fs) > 0 {
			return "shelf_version", fs
		}
	}
	specs, err := store.All(t, everySet, store.ScanJSON[SetSpec])
	if err != nil {
		return "prepared_version", err
	}
	for i, s := range specs {
		if fs := s.faults(); len(fs) > 0 {
			return "prepared_version", fmt.Errorf("set %d: %w", i+1, fs)
		}
	}
	return "", nil
}
