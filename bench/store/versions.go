package store

import (
	"cmp"
	"fmt"
	"strings"

	"knownwater"
	"knownwater/sqlite"
)

// Tables say where things of one sort are kept in versions: the things themselves
// in Things (id, retired), their versions in Versions (id, Ref, version, name,
// spec, why, made_at, made_by, made_from). T is a version as its subject knows
// it, S its description.
type Tables[S, T any] struct {
	Noun          string // in words: "method"
	Things        string
	Versions      string
	Ref           string // the column of Versions that names the thing
	Extra, Joins  string // further columns ("…, a, b") and joins; the version is v, the thing h
	Order         string // of all things, the retired ones last
	Seen          string // the condition under which a thing is listed; empty: always
	Parts         func(*T) (head *knownwater.Versioned[S], extra []any)
	ThingsColumns string // of a new thing, beside retired: "kind", "a, b"; empty: none
}

// Versions are things of one sort that are kept in versions. A version never
// changes, a thing is never deleted.
type Versions[S, T any] struct {
	Tables[S, T]
	Select string // a version; conditions go behind it

	latest, version, all, now, alike       string
	insertThing, insertVersion, setRetired string
}

// Keep declares the statements of a sort of things.
func Keep[S, T any](t Tables[S, T]) *Versions[S, T] {
	is := fmt.Sprintf(`v.version = (select max(version) from %s where %[2]s = v.%[2]s)`, t.Versions, t.Ref)
	v := &Versions[S, T]{Tables: t}
	v.Select = fmt.Sprintf(`select v.id, v.%s, v.version, %s, h.retired, v.spec, v.why, v.made_at, v.made_by, v.made_from%s
		from %s v join %s h on h.id = v.%[1]s %[6]s `, t.Ref, is, t.Extra, t.Versions, t.Things, t.Joins)
	v.latest = sqlite.SQL(v.Select + `where v.` + t.Ref + ` = ? order by v.version desc limit 1`)
	v.version = sqlite.SQL(v.Select + `where v.id = ?`)
	v.all = sqlite.SQL(v.Select + `where v.` + t.Ref + ` = ? order by v.version desc`)
	v.now = sqlite.SQL(v.Select + `where ` + is + ` and ` + cmp.Or(t.Seen, "true") + ` order by h.retired, ` + t.Order)
	v.alike = sqlite.SQL(fmt.Sprintf(`select count(*) from %s v join %s h on h.id = v.%s
		where h.retired = 0 and v.name = ? and v.%[3]s <> ? and %s`, t.Versions, t.Things, t.Ref, is))
	if t.ThingsColumns == "" {
		v.insertThing = sqlite.SQL(`insert into ` + t.Things + ` (retired) values (0)`)
	} else {
		v.insertThing = sqlite.SQL(`insert into ` + t.Things + ` (retired, ` + t.ThingsColumns + `) values (0` + strings.Repeat(", ?", strings.Count(t.ThingsColumns, ",")+1) + `)`)
	}
	v.insertVersion = sqlite.SQL(fmt.Sprintf(`insert into %s (%s, version, name, spec, why, made_at, made_by, made_from)
		values (?1, (select count(*) + 1 from %[1]s where %[2]s = ?1), ?2, ?3, ?4, ?5, ?6, ?7)`, t.Versions, t.Ref))
	v.setRetired = sqlite.SQL(`update ` + t.Things + ` set retired = ? where id = ?`)
	return v
}

// Scan scans a version that was selected with Select.
func (v *Versions[S, T]) Scan(scan func(...any) error) (T, error) {
	var out T
	h, extra := v.Parts(&out)
	err := scan(append([]any{&h.VersionID, &h.ID, &h.Version, &h.Latest, &h.Retired, JSON(&h.Spec), &h.Why,
		Time(&h.Made.At), &h.Made.Name, &h.Made.Device}, extra...)...)
	return out, err
}

// Latest is the latest version of a thing.
func (v *Versions[S, T]) Latest(t Tx, id int64) (T, error) {
	return One(t, v.Noun, v.latest, v.Scan, id)
}

// Version is a certain version.
func (v *Versions[S, T]) Version(t Tx, version int64) (T, error) {
	return One(t, "version of a "+v.Noun, v.version, v.Scan, version)
}

// All are all versions of a thing, newest first.
func (v *Versions[S, T]) All(t Tx, id int64) ([]T, error) { return All(t, v.all, v.Scan, id) }

// Now are the latest versions of all things, those retired last.
func (v *Versions[S, T]) Now(t Tx) ([]T, error) { return All(t, v.now, v.Scan) }

// NameTaken says whether another thing that is not retired bears a name now.
func (v *Versions[S, T]) NameTaken(t Tx, name string, id int64) (bool, error) {
	n, err := One(t, "count", v.alike, Value[int], name, id)
	return n > 0, err
}

// Put keeps a description as the next version of a thing, or as the first of a
// new one (id 0; columns are the values of ThingsColumns), and answers the thing.
func (v *Versions[S, T]) Put(t Tx, by knownwater.Who, id int64, name string, spec S, why string, columns ...any) (int64, error) {
	text, err := ToJSON(spec)
	if err != nil {
		return 0, NoNumber()
	}
	if id == 0 {
		if id, err = t.Insert(v.insertThing, columns...); err != nil {
			return 0, err
		}
	}
	at, who, device := t.Stamp(by)
	_, err = t.Insert(v.insertVersion, id, name, text, why, at, who, device)
	return id, err
}

// Retire takes a thing off the lists for new plans, or puts it back.
func (v *Versions[S, T]) Retire(t Tx, id int64, retired bool) error {
	return t.Exec(v.setRetired, retired, id)
}
