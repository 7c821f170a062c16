package trials

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

// Search picks readings of every trial; zero fields pick all.
type Search struct {
	Words   []string // each stands in the trial's title or in some text of the reading
	Method  string
	Reader  string
	Session string // its name, or its number
	Level   *float64
	Order   string // "level", "method", "reader"; else the newest first
	Skip    int    // paging: so many that come first
	Limit   int
}

// sat is what a reading's session is called, or its number.
const sat = `case when v.session_name <> '' then v.session_name when v.session > 0 then cast(v.session as text) else '' end`

// Only what words are looked for in is put together, and only where there are words.
var findReadings = sqlite.SQL(replaceWhere(readingsList, `where r.trial_id in (
		select t.id from trial t where t.state in ('opened', 'finished') and t.arriving = 0
		and coalesce((select place from trial_place p where p.trial_id = t.id order by p.id desc limit 1), 'here') <> 'removed')
	and s.id is null and r.withdrawn = 0
	and (?1 = '' or m.name = ?1)
	and (?2 = '' or p.name = ?2)
	and (?3 = '' or `+sat+` = ?3)
	and (?4 is null or k.level = ?4)
	and (?5 = '[]' or holds(?5, coalesce((select title from trial_place o where o.trial_id = r.trial_id order by o.id desc limit 1), (select title from trial where id = r.trial_id))
		|| char(10) || v.code || char(10) || m.name || char(10) || coalesce(p.name, '') || char(10) || coalesce(l.code, '') || char(10) || k.label
		|| char(10) || r.text || char(10) || r.note || char(10) || v.technique))
	order by case ?6 when 'level' then k.level when 'method' then m.name when 'reader' then coalesce(p.name, '') end,
		case ?6 when 'method' then k.level end, case ?6 when '' then r.read_at end desc, r.id desc limit ?7 offset ?8`))

// FindReadings are the readings that are like a search, of trials whose key is open and that
// were not taken out; more says that others follow. Owner.
func (b *Operations) FindReadings(ctx context.Context, by knownwater.Who, c Search) (list []Reading, more bool, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, false, err
	}
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, findReadings, scanReading, c.Method, c.Reader, c.Session, c.Level, sqlite.Words(c.Words), c.Order, c.Limit+1, c.Skip)
		return err
	})
	if more = len(list) > c.Limit; more {
		list = list[:c.Limit]
	}
	return list, more, err
}
