package calibrations

import (
	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

var (
	curves = store.Keep(store.Tables[CurveSpec, Curve]{
		Noun: "curve", Things: "curve", Versions: "curve_version", Ref: "curve_id", Order: `v.curve_id desc`,
		Extra: `, coalesce(v.id = (select a.version_id from curve_adoption a join curve_version x on x.id = a.version_id where x.curve_id = v.curve_id order by a.id desc limit 1), 0),
		coalesce(a.made_at, ''), coalesce(a.made_by, ''), coalesce(a.made_from, '')`,
		Joins: `left join curve_adoption a on a.id = (select max(id) from curve_adoption where version_id = v.id)`,
		Parts: func(c *Curve) (*knownwater.Versioned[CurveSpec], []any) {
			return &c.Versioned, []any{&c.InUse, store.Time(&c.Adopted.At), &c.Adopted.Name, &c.Adopted.Device}
		},
	})
	curvesInUse = sqlite.SQL(curves.Select + `where h.retired = 0 and v.id = (select a.version_id from curve_adoption a join curve_version x on x.id = a.version_id
		where x.curve_id = v.curve_id order by a.id desc limit 1) order by v.name, v.id`)
	insertAdoption = sqlite.SQL(`insert into curve_adoption (version_id, why, made_at, made_by, made_from) values (?, ?, ?, ?, ?)`)

	records = store.Keep(store.Tables[RecordSpec, Record]{
		Noun: "record", Things: "record", Versions: "record_version", Ref: "record_id", ThingsColumns: "method_id, matrix", Order: `v.name collate nocase, v.id`,
		Extra: `, h.method_id, coalesce(v.id = (select a.version_id from record_adoption a join record_version x on x.id = a.version_id where x.record_id = v.record_id order by a.id desc limit 1), 0),
		coalesce(a.made_at, ''), coalesce(a.made_by, ''), coalesce(a.made_from, '')`,
		Joins: `left join record_adoption a on a.id = (select max(id) from record_adoption where version_id = v.id)`,
		Parts: func(r *Record) (*knownwater.Versioned[RecordSpec], []any) {
			return &r.Versioned, []any{&r.Method, &r.InUse, store.Time(&r.Adopted.At), &r.Adopted.Name, &r.Adopted.Device}
		},
	})
	recordsInUse = sqlite.SQL(records.Select + `where h.retired = 0 and v.id = (select a.version_id from record_adoption a join record_version x on x.id = a.version_id
		where x.record_id = v.record_id order by a.id desc limit 1) order by v.name collate nocase, v.id`)
	recordOfMethod       = sqlite.SQL(`select id from record where method_id = ? and matrix = ?`)
	insertRecordAdoption = sqlite.SQL(`insert into record_adoption (version_id, why, made_at, made_by, made_from) values (?, ?, ?, ?, ?)`)
	everyRecord          = sqlite.SQL(`select spec from record_version`)

	everyCurve  = sqlite.SQL(`select spec from curve_version`)
	everyResult = sqlite.SQL(selectResult + `order by r.id`)
)

var (
	insertResult = sqlite.SQL(`insert into result (key, digest, curve_version_id, record_version_id, water, text, signals, own_colour, clear, dilution, u_dilution, u_lot, analyte, unit, basis,
		level, u, low, high, outside, open, pieces, parts, notes, reader, lot, program, note, taken_at, person_id, withdrawn, supersedes, root, why, kept_at, kept_by, kept_from, sample_id, nitrite, u_nitrite)
		values (?, ?, nullif(?, 0), nullif(?, 0), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, nullif(?, 0), ?, nullif(?, 0), nullif(?, 0), ?, ?, ?, ?, nullif(?, 0), ?, ?)`)

	selectResult = `select r.id, r.key, coalesce(v.curve_id, 0), coalesce(w.record_id, 0), coalesce(v.id, w.id), coalesce(v.version, w.version), coalesce(w.name, v.name),
		r.water, r.text, r.signals, r.own_colour, r.clear, r.dilution, r.u_dilution, r.u_lot,
		r.analyte, r.unit, r.basis, r.level, r.u, r.low, r.high, r.outside, r.open, r.pieces, r.parts, r.notes, r.reader, r.lot, r.program, r.note, r.taken_at, coalesce(r.person_id, 0),
		r.kept_at, r.kept_by, r.kept_from, coalesce(r.supersedes, 0), r.why, coalesce(s.id, 0), coalesce(s.why, ''), r.withdrawn,
		coalesce(m.id, 0), coalesce(m.water_id, 0), coalesce(m.role, ''), m.known, coalesce(m.u_known, 0), coalesce(m.spec, '{}'),
		coalesce((select standing from result_standing z where z.result_id = r.id order by z.id desc limit 1), ''), r.nitrite, r.u_nitrite
		from result r left join curve_version v on v.id = r.curve_version_id left join record_version w on w.id = r.record_version_id left join result s on s.supersedes = r.id left join sample m on m.id = r.sample_id `
	resultByID     = sqlite.SQL(selectResult + `where r.id = ?`)
	resultByKey    = sqlite.SQL(`select id, digest from result where key = ?`)
	resultStory    = sqlite.SQL(selectResult + `where coalesce(r.root, r.id) = (select coalesce(root, id) from result where id = ?) order by r.id`)
	resultsList    = sqlite.SQL(selectResult + `where (?1 = 0 or v.curve_id = ?1) and (?5 = 0 or w.record_id = ?5) and (?2 = 0 or r.id < ?2) and (?3 = 0 or r.person_id = ?3) order by r.id desc limit ?4`)
	resultsOfWater = sqlite.SQL(selectResult + `where r.id in (select x.id from sample y join result x on x.sample_id = y.id where y.water_id = ?1
		union all select id from result where water = ?2 and sample_id is null) and r.withdrawn = 0 and s.id is null order by r.taken_at desc, r.id desc limit ?3`)
	resultsOfWaters = sqlite.SQL(selectResult + `where coalesce(m.role, '') <> 'check' and r.withdrawn = 0 and s.id is null order by r.id desc limit ?`)
	checkResults    = sqlite.SQL(selectResult + `where r.id in (select x.id from sample y join result x on x.sample_id = y.id where y.role = 'check') and r.withdrawn = 0 and s.id is null order by r.taken_at, r.id`)
	resultsWithLot  = sqlite.SQL(`select count(*) from result r join record_version w on w.id = r.record_version_id where r.lot = ? and w.record_id = ? and r.withdrawn = 0 and r.supersedes is null`)
	resultThere     = sqlite.SQL(`select count(*) from result where id = ?`)
	resultsCount    = sqlite.SQL(`select r.curve_version_id, count(*) from result r join curve_version v on v.id = r.curve_version_id
		where v.curve_id = ? and r.withdrawn = 0 and not exists (select 1 from result s where s.supersedes = r.id) group by 1`)
)

var usesOfRecord = sqlite.SQL(`select r.lot, r.reader, min(r.taken_at) from result r join record_version w on w.id = r.record_version_id left join result s on s.supersedes = r.id
	where w.record_id = ? and r.withdrawn = 0 and s.id is null group by r.lot, r.reader order by min(r.taken_at), min(r.id)`)

var rootOfResult = sqlite.SQL(`select coalesce(root, id) from result where id = ?`)

var (
	insertRecheck = sqlite.SQL(`insert into curve_recheck (version_id, spec, outcome, led_to, why, made_at, made_by, made_from) values (?, ?, ?, nullif(?, 0), ?, ?, ?, ?)`)

	selectRecheck = `select r.id, r.version_id, v.version, r.spec, r.outcome, coalesce(r.led_to, 0), coalesce(n.version, 0), r.why, r.made_at, r.made_by, r.made_from
		from curve_recheck r join curve_version v on v.id = r.version_id left join curve_version n on n.id = r.led_to `
	rechecksOf   = sqlite.SQL(selectRecheck + `where v.curve_id = ? order by r.id desc`)
	everyRecheck = sqlite.SQL(selectRecheck + `order by r.id`)
)

// recordColumns are those of a new record; those of one that is there stay.
func recordColumns(id, method int64, matrix string) []any {
	if id != 0 {
		return nil
	}
	return []any{method, matrix}
}
