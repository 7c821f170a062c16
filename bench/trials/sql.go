package trials

import (
	"knownwater/sqlite"
)

var (
	insertTrial = sqlite.SQL(`insert into trial (state, title, plan, needs, notes, imported, source, planned, made_at, made_by, made_from,
		sealed_at, sealed_by, sealed_from, key_digest, opened_at, opened_by, opened_from, early, open_why, open_count)
		values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '', '', '', '', '', '', '', 0, '', 0)`)
	updatePlan = sqlite.SQL(`update trial set title = ?, plan = ? where id = ?`)
	dropTrial  = sqlite.SQL(`delete from trial where id = ?`)
)

var (
	insertKnown = sqlite.SQL(`insert into known (trial_id, pos, label, level, u, u_shared, matrix, blank, nitrite, u_nitrite, u_background) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	insertVial  = sqlite.SQL(`insert into vial (trial_id, known_id, version_id, code, session, session_name, pos, role, technique, lot_id, dilution, u_dilution, start_s, read_s)
		values (?, ?, ?, ?, ?, ?, ?, ?, ?, nullif(?, 0), ?, ?, ?, ?)`)
	insertViewer = sqlite.SQL(`insert into vial_reader (reader_id, trial_id, vial_id) values (?, ?, ?)`)
	sealTrial    = sqlite.SQL(`update trial set state = 'sealed', plan = ?, needs = ?, planned = ?, key_digest = ?, key_salt = ?, sealed_at = ?, sealed_by = ?, sealed_from = ? where id = ?`)
)

var (
	openKey   = sqlite.SQL(`update trial set state = 'opened', opened_at = ?, opened_by = ?, opened_from = ?, early = ?, open_why = ?, open_count = ? where id = ?`)
	finish    = sqlite.SQL(`update trial set state = 'finished' where id = ?`)
	sealOf    = sqlite.SQL(`select plan, key_digest, key_salt from trial where id = ?`)
	keyOfRows = sqlite.SQL(`select v.pos, v.code, v.session, m.name, m.version, k.label, k.level, v.role, v.technique, v.dilution, k.nitrite
		from vial v join known k on k.id = v.known_id join method_version m on m.id = v.version_id
		where v.trial_id = ? and v.pos is not null order by v.pos`)
)

// cells are the readings of a trial that stand, alike ones counted together; by the
// readings up to ?3 and the exclusions up to ?4. Last stands when the first of them was first
// read: a correction is as old as what it corrects.
var cells = sqlite.SQL(`select m.name, v.version_id, k.level, k.u, k.u_shared, r.text, r.low, r.high, r.dilution, r.u_dilution,
	v.technique, v.session_name, coalesce(p.id, 0), coalesce(p.name, ''), coalesce(l.code, ''), v.code, k.matrix, count(*), min(r.source_row), min(r.id), coalesce(r.lot_id, 0), k.nitrite, k.u_nitrite, k.u_background,
	v.session, coalesce(min(case when t.imported = 0 then (select nullif(x.read_at, '') from reading x
		where x.id = coalesce(r.root, r.id) and (x.after_key = 0 or x.read_at <= t.opened_at)) end), '')
	from reading r
	join trial t on t.id = r.trial_id
	join vial v on v.id = r.vial_id
	join known k on k.id = v.known_id
	join method_version m on m.id = v.version_id
	left join person p on p.id = r.reader_id
	left join lot l on l.id = r.lot_id
	where r.trial_id = ?1 and r.text <> '' and r.id <= ?3 and not exists (select 1 from reading s where s.supersedes = r.id and s.id <= ?3)
	and (?2 or not exists (select 1 from exclusion e where e.reading_id = coalesce(r.root, r.id) and e.excluded = 1
		and e.id = (select max(id) from exclusion where reading_id = e.reading_id and id <= ?4)))
	group by v.version_id, v.known_id, v.technique, v.session_name, v.code, r.reader_id, r.lot_id, r.dilution, r.u_dilution, r.text, r.low, r.high
	order by k.nitrite > 0, min(r.source_row), min(r.id)`)

var (
	untilNow = sqlite.SQL(`select coalesce((select max(id) from reading where trial_id = ?1), 0), coalesce((select max(id) from exclusion), 0),
		coalesce((select max(id) from answer where trial_id = ?1), 0)`)
	trialBits     = sqlite.SQL(`select needs, notes from trial where id = ?`)
	trialVersions = sqlite.SQL(`select version_id from vial where trial_id = ? group by version_id order by min(id)`)
	trialPeople   = sqlite.SQL(`select p.id, p.name, p.alias from person p
		where exists (select 1 from vial_reader w where w.reader_id = p.id and w.trial_id = ?1)
		or exists (select 1 from reading r where r.trial_id = ?1 and r.reader_id = p.id and r.supersedes is null) order by p.id`)
)

var (
	vialToReadByID = sqlite.SQL(`select v.trial_id, v.version_id, coalesce(v.lot_id, 0), t.state, v.dilution, v.u_dilution,
		exists (select 1 from vial_reader where vial_id = v.id and reader_id = ?2),
		coalesce((select started_at from vial_start s where s.vial_id = v.id order by s.id desc limit 1), ''), m.spec, m.method_id
		from vial v join trial t on t.id = v.trial_id join method_version m on m.id = v.version_id where v.id = ?1`)
	readingByKey = sqlite.SQL(`select id, digest, kept_at, off_by, reader_id, supersedes from reading where key = ?`)
	lotOfMethod  = sqlite.SQL(`select count(*) from lot where id = ? and method_id = ?`)
	photoThere   = sqlite.SQL(`select count(*) from photo where name = ? and (? or person_id = ?)`)
	beginTrial   = sqlite.SQL(`update trial set state = 'running' where id = ? and state = 'sealed'`)

	insertReading = sqlite.SQL(`insert into reading (key, digest, trial_id, vial_id, reader_id, replicate, dilution, u_dilution, lot_id, text, low, high,
		flags, note, photo, started_at, read_at, off_by, after_key, withdrawn, supersedes, root, why, source_row, kept_at, kept_by, kept_from)
		values (?, ?, ?, ?, nullif(?, 0), ?, ?, ?, nullif(?, 0), ?, ?, ?, ?, ?, nullif(?, ''), ?, ?, ?, ?, ?, nullif(?, 0), nullif(?, 0), ?, ?, ?, ?, ?)`)
	insertStart = sqlite.SQL(`insert into vial_start (key, vial_id, reader_id, started_at, kept_at, kept_by, kept_from) values (?, ?, ?, ?, ?, ?, ?)
		on conflict (key) do nothing`)
)

const selectState = `select r.id, coalesce(r.root, r.id), r.vial_id, coalesce(r.reader_id, 0), r.key, r.replicate, r.dilution, r.withdrawn,
	coalesce((select id from reading s where s.supersedes = r.id), 0) from reading r `

var (
	statesOf   = sqlite.SQL(selectState + `where r.vial_id = ? and r.reader_id = ? and not exists (select 1 from reading s where s.supersedes = r.id)`)
	stateByID  = sqlite.SQL(selectState + `where r.id = ?`)
	stateByKey = sqlite.SQL(selectState + `where r.key = ?`)
)

var (
	myVials = sqlite.SQL(`select v.id, v.code, v.session, v.pos, v.version_id, v.technique, coalesce(v.lot_id, 0), v.dilution, v.start_s, v.read_s,
		coalesce((select started_at from vial_start s where s.vial_id = v.id order by s.id desc limit 1), '')
		from vial_reader w join vial v on v.id = w.vial_id where w.reader_id = ? and w.trial_id = ? order by v.pos`)
	myReadings = sqlite.SQL(`select r.vial_id, r.id, r.key, r.text, r.dilution, r.replicate, r.flags, r.note, r.read_at
		from reading r where r.trial_id = ?2 and r.reader_id = ?1 and r.withdrawn = 0
		and not exists (select 1 from reading s where s.supersedes = r.id) order by r.id`)
	myTrials = sqlite.SQL(`select t.id, coalesce((select title from trial_place p where p.trial_id = t.id order by p.id desc limit 1), t.title), t.state,
		(select count(*) from vial_reader w where w.reader_id = ?1 and w.trial_id = t.id) of,
		(select count(distinct r.vial_id) from reading r where r.trial_id = t.id and r.reader_id = ?1 and r.supersedes is null
			and r.id not in (select w.root from reading w where w.trial_id = t.id and w.reader_id = ?1 and w.withdrawn = 1
				and not exists (select 1 from reading s where s.supersedes = w.id)))
		from trial t where t.state in ('sealed', 'running', 'opened') and t.imported = 0 and of > 0
		and coalesce((select place from trial_place p where p.trial_id = t.id order by p.id desc limit 1), 'here') = 'here'
		order by t.id desc`)
	readTrials = sqlite.SQL(`select t.id, coalesce((select title from trial_place p where p.trial_id = t.id order by p.id desc limit 1), t.title), t.state from trial t where t.state = 'finished'
		and coalesce((select place from trial_place p where p.trial_id = t.id order by p.id desc limit 1), 'here') = 'here'
		and exists (select 1 from vial_reader w where w.reader_id = ?1 and w.trial_id = t.id) order by t.id desc limit ?2`)
)

var (
	sheetRows = sqlite.SQL(`select v.id, v.code, v.session, v.pos, m.name, v.technique, coalesce(l.code, ''), v.dilution, v.start_s, v.read_s,
		coalesce((select group_concat(p.name, char(10) order by p.id) from vial_reader w join person p on p.id = w.reader_id where w.vial_id = v.id), '')
		from vial v join method_version m on m.id = v.version_id left join lot l on l.id = v.lot_id
		where v.trial_id = ?1 and (?2 = 0 or v.session = ?2) order by v.pos`)
	prepRows = sqlite.SQL(`select k.pos, v.id, v.code, v.session, v.pos, m.name
		from vial v join known k on k.id = v.known_id join method_version m on m.id = v.version_id
		where v.trial_id = ? order by k.pos, v.session, v.pos`)
)

// Without statistics of the file the planner takes any index that begins with the
// trial, and reads every row; the named ones hold just what is counted.
const selectTrial = `select t.id, t.state, t.plan, t.imported, t.source, t.planned, t.made_at, t.made_by, t.made_from,
	t.sealed_at, t.sealed_by, t.sealed_from, t.key_digest, t.opened_at, t.opened_by, t.opened_from, t.early, t.open_why, t.open_count,
	(select count(*) from vial where trial_id = t.id),
	(select count(*) from reading indexed by reading_begun where trial_id = t.id and supersedes is null)
		- (select count(*) from reading w indexed by reading_withdrawn where w.trial_id = t.id and w.withdrawn = 1 and not exists (select 1 from reading s where s.supersedes = w.id)),
	(select count(*) from exclusion e cross join reading r where r.id = e.reading_id and r.trial_id = t.id and e.excluded = 1
		and e.id = (select max(id) from exclusion where reading_id = e.reading_id)),
	(select count(*) from reading f indexed by reading_flagged where f.trial_id = t.id and (f.flags <> '' or f.off_by <> 0)
		and not exists (select 1 from reading s where s.supersedes = f.id)),
	coalesce((select max(kept_at) from reading where trial_id = t.id), ''),
	coalesce(p.title, ''), coalesce(p.place, 'here'), coalesce(p.why, '')
	from trial t left join trial_place p on p.trial_id = t.id and p.id = (select max(id) from trial_place where trial_id = t.id) `

var (
	trialByID  = sqlite.SQL(selectTrial + `where t.id = ? and t.arriving = 0`)
	trialsHere = sqlite.SQL(selectTrial + `where t.arriving = 0 and coalesce(p.place, 'here') = 'here' order by t.id desc`)
	trialsAway = sqlite.SQL(selectTrial + `where t.arriving = 0 and p.place <> 'here' order by t.id desc`)
	keySeen    = sqlite.SQL(`select at, by_name, by_from from event where trial_id = ? and what in ('` + sawPrepList + `', '` + exportedSealed + `') order by id`)
	afterOpen  = sqlite.SQL(`select count(*) from reading where trial_id = ? and after_key = 1`)
)

var eventsOf = sqlite.SQL(`select at, by_name, by_from, what, why from event where trial_id = ? order by id`)

var mayReadTrial = sqlite.SQL(`select count(*) from vial_reader where reader_id = ? and trial_id = ?`)

// readingsDropped are readings that stand for nothing: superseded, withdrawn, or
// none possible.
var readingsDropped = sqlite.SQL(replaceWhere(readingsList, `where r.trial_id = ?1 and (s.id is not null or r.withdrawn = 1 or r.text = '') order by r.id`))

var (
	countAfterButRead = sqlite.SQL(`select count(*) from reading r join trial t on t.id = r.trial_id
		where r.trial_id = ? and r.after_key = 1 and r.read_at <> '' and r.read_at <= t.opened_at`)
	countOff = sqlite.SQL(`select coalesce(sum(r.off_by > 0), 0), coalesce(sum(r.off_by < 0), 0) from reading r
		where r.trial_id = ? and r.off_by <> 0 and r.withdrawn = 0 and not exists (select 1 from reading s where s.supersedes = r.id)`)
	countExpired = sqlite.SQL(`select count(*) from reading r join lot l on l.id = r.lot_id
		where r.trial_id = ? and l.expires_on <> '' and r.read_at <> '' and substr(r.read_at, 1, 10) > l.expires_on`)
)

var selectFindingsKey = sqlite.SQL(`select coalesce((select max(id) from reading where trial_id = ?1), 0), coalesce((select max(id) from event), 0),
	(select state from trial where id = ?1)`)

// The optional conditions stand in one statement, so that it can be prepared
// and checked as a whole.
var readingsList = sqlite.SQL(`select r.id, r.key, r.trial_id, r.vial_id, v.code, coalesce(v.pos, 0), v.session, v.session_name, m.name, v.version_id, v.technique,
	coalesce(r.reader_id, 0), coalesce(p.name, ''), coalesce(l.code, ''), k.label, k.level, k.u, v.role,
	r.text, r.low, r.high, r.dilution, r.replicate, r.flags, r.note, coalesce(r.photo, ''), r.started_at, r.read_at, r.off_by,
	r.kept_at, r.kept_by, r.kept_from, coalesce(r.supersedes, 0), coalesce(s.id, 0), r.why, r.withdrawn, r.after_key,
	coalesce(e.excluded, 0), coalesce(e.at, ''), coalesce(e.by_name, ''), coalesce(e.by_from, ''), coalesce(e.why, ''), coalesce(e.after_key, 0), k.nitrite
	from reading r
	join vial v on v.id = r.vial_id
	join known k on k.id = v.known_id
	join method_version m on m.id = v.version_id
	left join person p on p.id = r.reader_id
	left join lot l on l.id = r.lot_id
	left join reading s on s.supersedes = r.id
	left join exclusion e on e.id = (select max(id) from exclusion where reading_id = coalesce(r.root, r.id))
	where r.trial_id = ?1 and r.id > ?2
	and (?3 = '' or m.name = ?3)
	and (?4 = 0 or r.dilution = ?4)
	and (?5 is null or k.level = ?5)
	and (?6 = 0 or r.reader_id = ?6)
	and (?7 = 0 or v.session = ?7)
	and (?8 is null or v.technique = ?8)
	and (?9 = '' or r.text = ?9)
	and (?10 = 0 or r.vial_id = ?10)
	and (?11 = 0 or e.excluded = 1)
	and (?12 = 0 or r.flags <> '' or r.off_by <> 0)
	and (?13 = 1 or (s.id is null and r.withdrawn = 0))
	order by r.id limit ?14`)

// readingStory is a reading with all that it corrects and all that corrects it:
// from the first of them up, each superseded by one at most.
var readingStory = sqlite.SQL(replaceWhere(readingsList, `where r.trial_id = ?1 and r.id in (
	with recursive story (id) as (select coalesce(root, id) from reading where id = ?2
		union all select n.id from story join reading n on n.supersedes = story.id)
	select id from story) order by r.id`))

var stillToRead = sqlite.SQL(`select count(*) from vial_reader w where w.reader_id = ?1 and w.trial_id = ?2 and not exists (
		select 1 from reading r where r.vial_id = w.vial_id and r.reader_id = ?1 and r.withdrawn = 0
		and not exists (select 1 from reading s where s.supersedes = r.id))`)

var insertExclusion = sqlite.SQL(`insert into exclusion (reading_id, excluded, why, after_key, at, by_name, by_from) values (?, ?, ?, ?, ?, ?, ?)`)

var trialOfReading = sqlite.SQL(`select trial_id from reading where id = ?`)

var (
	insertPhoto = sqlite.SQL(`insert into photo (name, media_type, data, person_id, kept_at, kept_by, kept_from) values (?, ?, ?, nullif(?, 0), ?, ?, ?)
		on conflict (name) do nothing`)
	loose      = `not exists (select 1 from reading r where r.photo = p.name)`
	dropLoose  = sqlite.SQL(`delete from photo as p where p.kept_at <= ? and ` + loose)
	photosOf   = sqlite.SQL(`select count(*), coalesce(sum(length(p.data)), 0), coalesce(sum(` + loose + `), 0) from photo p where p.person_id is nullif(?, 0)`)
	photosKept = sqlite.SQL(`select coalesce(p.person_id, 0), coalesce(n.name, ''), count(*), sum(length(p.data)), sum(` + loose + `)
		from photo p left join person n on n.id = p.person_id group by p.person_id order by sum(length(p.data)) desc`)
	photoData = sqlite.SQL(`select data, media_type, coalesce(person_id, 0) from photo where name = ?`)
	photoUses = sqlite.SQL(`select count(*) from reading where photo = ? and reader_id = ?`)
)

var (
	finishImport   = sqlite.SQL(`update trial set state = 'finished', planned = ?, arriving = 0 where id = ?`)
	insertArriving = sqlite.SQL(`insert into trial (state, title, plan, needs, notes, imported, source, planned, made_at, made_by, made_from,
		sealed_at, sealed_by, sealed_from, key_digest, opened_at, opened_by, opened_from, early, open_why, open_count, arriving)
		values ('planned', ?, '{}', '[]', ?, 1, ?, 0, ?, ?, ?, '', '', '', '', '', '', '', 0, '', 0, 1)`)
	openArriving = sqlite.SQL(`update trial set state = 'opened', plan = ?, needs = ? where id = ?`)

	arrivingTrials  = sqlite.SQL(`select id from trial where arriving = 1`)
	abandonReadings = sqlite.SQL(`delete from reading where id in (select id from reading where trial_id = ? order by id limit 200)`)
	abandonVials    = sqlite.SQL(`delete from vial where id in (select id from vial where trial_id = ? limit 200)`)
	abandonKnowns   = sqlite.SQL(`delete from known where id in (select id from known where trial_id = ? limit 20)`)
	abandonTrial    = sqlite.SQL(`delete from trial where id = ? and arriving = 1`)

	insertCell = sqlite.SQL(`insert into reading (key, digest, trial_id, vial_id, reader_id, replicate, dilution, u_dilution, lot_id, text, low, high,
		flags, note, photo, started_at, read_at, off_by, after_key, withdrawn, supersedes, root, why, source_row, kept_at, kept_by, kept_from)
		values (?, '', ?, ?, nullif(?, 0), ?, ?, ?, nullif(?, 0), ?, ?, ?, '', '', null, '', '', 0, 0, 0, null, null, '', ?, ?, ?, ?)`)
)

var countAfterDay = sqlite.SQL(`select count(*) from reading r where r.trial_id = ? and r.withdrawn = 0 and r.read_at <> '' and substr(r.read_at, 1, 10) > ?
	and not exists (select 1 from reading s where s.supersedes = r.id)`)

var (
	sealedTrials = sqlite.SQL(`select id from trial where state in ('sealed', 'running')`)
	everyPlan    = sqlite.SQL(`select plan from trial`)
)

var (
	insertAnswer = sqlite.SQL(`insert into answer (trial_id, question, says, answer, spec, why, at, by_name, by_from) values (?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	answersOf    = sqlite.SQL(`select a.id, a.question, a.says, a.answer, a.spec, a.why, a.at, a.by_name, a.by_from from answer a
		where a.trial_id = ?1 and a.answer <> 'open' and a.id = (select max(id) from answer where trial_id = ?1 and question = a.question and id <= ?2) order by a.id`)
)

var (
	insertHeading = sqlite.SQL(`insert into heading (header, columns, at, by_name, by_from) values (?, ?, ?, ?, ?)`)
	headingOf     = sqlite.SQL(`select columns from heading where header = ? order by id desc limit 1`)
)
