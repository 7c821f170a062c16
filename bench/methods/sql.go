package methods

import (
	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/unit"
	"knownwater/sqlite"
)

// kept are the methods, bare are they without the counts, which take time.
var (
	kept = tables(`, (select count(distinct trial_id) from vial where version_id = v.id and trial_id not in (select id from trial where arriving = 1)),
		(select count(*) from vial where version_id = v.id and trial_id not in (select id from trial where arriving = 1)),
		coalesce((select sum(max(0, l.tests - (select count(distinct vial_id) from reading where lot_id = l.id)))
			from lot l where l.method_id = v.method_id and l.retired = 0 and l.tests > 0), -1)`)
	bare = tables(`, 0, 0, -1`)
)

func tables(counts string) *store.Versions[knownwater.MethodSpec, knownwater.MethodVersion] {
	return store.Keep(store.Tables[knownwater.MethodSpec, knownwater.MethodVersion]{
		Noun: "method", Things: "method", Versions: "method_version", Ref: "method_id", Extra: counts, Seen: `h.arriving is null`, Order: `v.name collate nocase, v.id`,
		Parts: func(m *knownwater.MethodVersion) (*knownwater.Versioned[knownwater.MethodSpec], []any) {
			return &m.Versioned, []any{&m.Trials, &m.Vials, &m.TestsLeft}
		},
	})
}

var (
	methodsNamed = sqlite.SQL(kept.Select + `where v.name = ? order by h.retired, v.method_id, v.version desc`)
	everyVersion = sqlite.SQL(`select spec from method_version`)
)

var (
	insertLot = sqlite.SQL(`insert into lot (method_id, code, opened_on, expires_on, chart_edition, tests, note, retired, made_at, made_by, made_from)
		values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	updateLot = sqlite.SQL(`update lot set code = ?, opened_on = ?, expires_on = ?, chart_edition = ?, tests = ?, note = ?, retired = ? where id = ?`)

	selectLot = `select l.id, l.method_id, l.code, l.opened_on, l.expires_on, l.chart_edition, l.tests,
		(select count(distinct vial_id) from reading where lot_id = l.id), l.note, l.retired, l.made_at, l.made_by, l.made_from from lot l `
	lotByID     = sqlite.SQL(selectLot + `where l.id = ?`)
	lotsOf      = sqlite.SQL(selectLot + `where l.method_id = ? and l.arriving is null order by l.retired, l.id desc`)
	lotByCode   = sqlite.SQL(selectLot + `where l.method_id = ? and l.code = ?`)
	lotSameCode = sqlite.SQL(`select count(*) from lot where method_id = ? and code = ? and id <> ?`)
)

func scanLot(scan func(...any) error) (l knownwater.Lot, err error) {
	err = scan(&l.ID, &l.MethodID, &l.Code, &l.OpenedOn, &l.ExpiresOn, &l.ChartEdition, &l.Tests, &l.Used,
		&l.Note, &l.Retired, store.Time(&l.Made.At), &l.Made.Name, &l.Made.Device)
	return l, err
}

var (
	insertNeed = sqlite.SQL(`insert into need (name, spec, retired, made_at, made_by, made_from) values (?, ?, ?, ?, ?, ?)`)
	updateNeed = sqlite.SQL(`update need set name = ?, spec = ?, retired = ? where id = ?`)

	selectNeed        = `select id, spec, retired, made_at, made_by, made_from from need `
	needByID          = sqlite.SQL(selectNeed + `where id = ?`)
	needsAll          = sqlite.SQL(selectNeed + `where arriving is null order by retired, name collate nocase`)
	needsWithArriving = sqlite.SQL(selectNeed + `order by id`)
	needSame          = sqlite.SQL(`select count(*) from need where name = ? and id <> ?`)
)

// needSpec is what stands in the need's JSON.
type needSpec struct {
	Scale unit.Scale      `json:"scale"`
	Need  knownwater.Need `json:"need"`
}

func scanNeed(scan func(...any) error) (n knownwater.NeedEntry, err error) {
	var s needSpec
	err = scan(&n.ID, store.JSON(&s), &n.Retired, store.Time(&n.Made.At), &n.Made.Name, &n.Made.Device)
	n.Scale, n.Need = s.Scale, s.Need
	return n, err
}

// Of a data set on its way in.
var (
	markMethod = sqlite.SQL(`update method set arriving = ? where id = ?`)
	markLot    = sqlite.SQL(`update lot set arriving = ? where id = ?`)
	markNeed   = sqlite.SQL(`update need set arriving = ? where id = ?`)

	arrived = sqlite.SQL(`select 'described method ' || v.name, v.why from method m join method_version v on v.method_id = m.id where m.arriving = ?1
		union all select 'added lot ' || code, '' from lot where arriving = ?1
		union all select 'added need ' || name, '' from need where arriving = ?1`)
	settleMethods = sqlite.SQL(`update method set arriving = null where arriving = ?`)
	settleLots    = sqlite.SQL(`update lot set arriving = null where arriving = ?`)
	settleNeeds   = sqlite.SQL(`update need set arriving = null where arriving = ?`)

	abandonNeed    = sqlite.SQL(`delete from need where id = (select min(id) from need where arriving = ?)`)
	abandonLot     = sqlite.SQL(`delete from lot where id = (select min(id) from lot where arriving = ?)`)
	abandonVersion = sqlite.SQL(`delete from method_version where id = (select min(v.id) from method_version v join method m on m.id = v.method_id where m.arriving = ?)`)
	abandonMethod  = sqlite.SQL(`delete from method where id = (select min(id) from method where arriving = ?)`)
)
