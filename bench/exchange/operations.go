// Package exchange is how a whole bench goes in and out: export and import as plain
// tables, backup and restore of the file.
package exchange

import (
	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done with a whole open bench.
type Operations struct {
	store *store.Store
	from  Sources
}

// Sources are what an exchange takes from the subjects, whose tables it carries.
type Sources struct {
	NoteExport func(t store.Tx, by knownwater.Who) error       // that sealed keys went out
	PhotoType  func(data []byte) (mediaType string, err error) // what is wrong with a photo
	KeptFaults []func(t store.Tx) (table string, err error)    // what is wrong with descriptions, which the tables cannot check
}

// On are the operations on an open bench.
func On(s *store.Store, from Sources) *Operations { return &Operations{s, from} }
