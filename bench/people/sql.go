package people

import (
	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

var (
	insertPerson = sqlite.SQL(`insert into person (name, role, alias, gone, made_at, made_by, made_from) values (?, ?, ?, ?, ?, ?, ?)`)
	updatePerson = sqlite.SQL(`update person set name = ?, role = ?, alias = ?, gone = ? where id = ?`)

	selectPerson   = `select id, name, role, alias, gone, made_at, made_by, made_from from person `
	insertArriving = sqlite.SQL(`insert into person (name, role, alias, gone, made_at, made_by, made_from, arriving) values (?, 'reader', '', 0, ?, ?, ?, ?)`)
	arrivingNames  = sqlite.SQL(`select name from person where arriving = ? order by id`)
	settlePeople   = sqlite.SQL(`update person set arriving = null where arriving = ?`)
	abandonPerson  = sqlite.SQL(`delete from person where id = (select min(id) from person where arriving = ?)`)

	personByID   = sqlite.SQL(selectPerson + `where id = ?`)
	personByName = sqlite.SQL(selectPerson + `where name = ?`)
	peopleAll    = sqlite.SQL(selectPerson + `where arriving is null order by gone, name collate nocase`)
	personSame   = sqlite.SQL(`select count(*) from person where name = ? and id <> ?`)

	dropPairings = sqlite.SQL(`delete from pairing where person_id = ?`)
	dropSessions = sqlite.SQL(endSession + `where person_id = ?`)
)

func scanPerson(scan func(...any) error) (p knownwater.Person, err error) {
	err = scan(&p.ID, &p.Name, &p.Role, &p.Alias, &p.Gone, store.Time(&p.Made.At), &p.Made.Name, &p.Made.Device)
	return p, err
}

var (
	secretGet = sqlite.SQL(`select value from secret where name = 'passphrase'`)
	secretPut = sqlite.SQL(`insert into secret (name, value) values ('passphrase', ?) on conflict (name) do update set value = excluded.value`)
	secretHas = sqlite.SQL(`select count(*) from secret where name = 'passphrase'`)

	endSessions = sqlite.SQL(endSession + `where role <> 'ended'`)
	triesCount  = sqlite.SQL(`select count(*) from attempt where from_addr = ? and at > ?`)
	triesAdd    = sqlite.SQL(`insert into attempt (from_addr, at, what) values (?, ?, ?)`)
	triesForget = sqlite.SQL(`delete from attempt where id <= (select max(id) from attempt) - ?`)
	triesList   = sqlite.SQL(`select from_addr, what, count(*), min(at), max(at) from attempt group by from_addr, what order by max(at) desc limit 50`)

	pairingKnown    = sqlite.SQL(`select count(*) from pairing where hash = ?`)
	dropAllPairings = sqlite.SQL(`delete from pairing`)
	pairingAdd      = sqlite.SQL(`insert into pairing (hash, person_id, expires_at, used_at) values (?, ?, ?, '')`)
	pairingForget   = sqlite.SQL(`delete from pairing where expires_at <= ?`)
	pairingUse      = sqlite.SQL(`update pairing set used_at = ?1 where hash = ?2 and used_at = '' and expires_at > ?1 returning person_id`)
)

// endSession ends sessions but leaves their rows until they would have run out, so
// that a request which is still under way cannot write one back.
const endSession = `update session set data = x'', person_id = null, name = '', role = 'ended', device = '' `

var (
	sessionFind   = sqlite.SQL(`select data from session where hash = ? and expires_at > ? and length(data) > 0`)
	sessionCommit = sqlite.SQL(`insert into session (hash, data, expires_at, person_id, name, role, device, since) values (?, ?, ?, null, '', '', '', ?)
		on conflict (hash) do update set data = excluded.data, expires_at = excluded.expires_at where role <> 'ended'`)
	sessionTie = sqlite.SQL(`insert into session (hash, data, expires_at, person_id, name, role, device, since) values (?, x'', ?, nullif(?, 0), ?, ?, ?, ?)
		on conflict (hash) do update set person_id = excluded.person_id, name = excluded.name, role = excluded.role, device = excluded.device where role <> 'ended'`)
	sessionDelete = sqlite.SQL(endSession + `where hash = ?`)
	sessionForget = sqlite.SQL(`delete from session where expires_at <= ?`)
	sessionWhose  = sqlite.SQL(`select coalesce(person_id, 0), role from session where hash = ?`)
	sessionList   = sqlite.SQL(`select hash, coalesce(person_id, 0), name, role, device, since, expires_at from session
		where expires_at > ? and name <> '' order by since desc`)
)
