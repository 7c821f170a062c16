package waters

import (
	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

var kept = store.Keep(store.Tables[knownwater.WaterSpec, knownwater.Water]{
	Noun: "water", Things: "water", Versions: "water_version", Ref: "water_id", Order: `v.name collate nocase, v.id`,
	Parts: func(w *knownwater.Water) (*knownwater.Versioned[knownwater.WaterSpec], []any) {
		return &w.Versioned, nil
	},
})

var (
	everyWater     = sqlite.SQL(`select spec from water_version`)
	everySample    = sqlite.SQL(`select id, coalesce(water_id, 0), role, known, u_known, spec from sample`)
	insertSample   = sqlite.SQL(`insert into sample (water_id, role, known, u_known, spec, made_at, made_by, made_from) values (nullif(?, 0), ?, ?, ?, ?, ?, ?, ?)`)
	insertStanding = sqlite.SQL(`insert into result_standing (result_id, standing, why, made_at, made_by, made_from) values (?, ?, ?, ?, ?, ?)`)
)
