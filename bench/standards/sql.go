package standards

import (
	"math"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

var (
	items = store.Keep(store.Tables[ItemSpec, Item]{
		Noun: "thing on the shelf", Things: "shelf_item", Versions: "shelf_version", Ref: "item_id", ThingsColumns: "kind",
		Order: `h.kind, v.name collate nocase, v.id`,
		Parts: func(x *Item) (*knownwater.Versioned[ItemSpec], []any) {
			x.Left = math.NaN()
			return &x.Versioned, nil
		},
	})
	sets = store.Keep(store.Tables[SetSpec, PreparedSet]{
		Noun: "set of standards", Things: "prepared", Versions: "prepared_version", Ref: "prepared_id",
		Extra: `, (select count(*) from trial where json_extract(plan, '$.set') = v.id), v.spec`, Order: `v.prepared_id desc`,
		Parts: func(s *PreparedSet) (*knownwater.Versioned[SetSpec], []any) {
			return &s.Versioned, []any{&s.Trials, &s.text}
		},
	})

	everyItem = sqlite.SQL(`select spec from shelf_version`)
	everySet  = sqlite.SQL(`select spec from prepared_version`)
)

// column is the kind of a new thing; that of one that is there stays.
func column(id int64, kind ItemKind) []any {
	if id != 0 {
		return nil
	}
	return []any{kind}
}
