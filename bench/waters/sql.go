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
	everyWater   = sqlite.SQL(`select spec from water_version`)
	everySample  = sqlite.SQL(`select id, coalesce(water_id, 0), role, known, u_known, spec from sample`)
	insertSample = sqlite.SQL(`insert into sample (water_id, role, known, u_known, spec, made_at, made_by, made_from) values (nullif(?, 0), ?, ?, ?, ?, ?, ?, ?)`)
	blindCodes   = sqlite.SQL(`select json_extract(spec, '$.vial') from sample where json_extract(spec, '$.vial') is not null`)
	blindOpen    = sqlite.SQL(`select exists (select 1 from sample s where json_extract(s.spec, '$.vial') is not null and not exists (select 1 from result r where r.sample_id = s.id))`)
	blindByCode  = sqlite.SQL(`select id from sample where json_extract(spec, '$.vial') = ?`)
	blindVials   = sqlite.SQL(`select s.id, coalesce(s.water_id, 0), s.role, s.known, s.u_known, s.spec,
		coalesce((select name from water_version v where v.water_id = s.water_id order by v.version desc limit 1), ''),
		(select count(*) from result r where r.sample_id = s.id and r.withdrawn = 0 and r.supersedes is null), s.made_at, s.made_by, s.made_from
		from sample s where json_extract(s.spec, '$.vial') is not null order by s.id desc limit ?`)
	insertStanding = sqlite.SQL(`insert into result_standing (result_id, standing, why, made_at, made_by, made_from) values (?, ?, ?, ?, ?, ?)`)
)

func scanVial(scan func(...any) error) (v Vial, err error) {
	var known *float64
	err = scan(&v.ID, &v.Water, &v.Role, &known, &v.UKnown, store.JSON(&v.SampleSpec), &v.Name, &v.Read, store.Time(&v.Made.At), &v.Made.Name, &v.Made.Device)
	if known != nil {
		v.Known = *known
	}
	return v, err
}
