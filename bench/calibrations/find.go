package calibrations

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

// Search picks results of every water; zero fields pick all.
type Search struct {
	Words  []string // each stands in some text of the result
	By     string   // the method or the curve
	Reader string
	Water  string
	Order  string // "level", "method", "reader"; else the newest first
	Skip   int    // paging: so many that come first
	Limit  int
}

var findResults = sqlite.SQL(selectResult + `where (?1 = '' or coalesce(w.name, v.name) = ?1)
	and (?2 = '' or r.reader = ?2)
	and (?3 = '' or r.water = ?3)
	and (?4 = '[]' or holds(?4, coalesce(w.name, v.name) || char(10) || r.water || char(10) || r.text || char(10) || r.reader || char(10) || r.lot || char(10) || r.note))
	order by case ?5 when 'level' then r.low when 'method' then coalesce(w.name, v.name) when 'reader' then r.reader end, r.taken_at desc, r.id desc limit ?6 offset ?7`)

// FindResults are the results that are like a search, corrected and withdrawn ones among them;
// more says that others follow. Owner.
func (b *Operations) FindResults(ctx context.Context, by knownwater.Who, c Search) (list []Result, more bool, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, false, err
	}
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, findResults, scanResult, c.By, c.Reader, c.Water, sqlite.Words(c.Words), c.Order, c.Limit+1, c.Skip)
		return err
	})
	if more = len(list) > c.Limit; more {
		list = list[:c.Limit]
	}
	return list, more, err
}
