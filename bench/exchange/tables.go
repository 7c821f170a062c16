package exchange

import (
	"cmp"
	"fmt"
	"strings"

	"knownwater/sqlite"
)

// table is a table as it is exported: its columns in order. Secrets, pairings,
// sessions and tries are not exported.
type table struct {
	name    string
	columns []string
	blob    string // a column whose bytes become a file of their own, named by the row's first column
	since   int    // the first schema that has it
	later   []later
	here    string // which rows are: what an import brings that is not whole yet is not
}

// later is a column that came later than its table, at the end, with what stands in
// the rows from before.
type later struct {
	column string
	since  int
	before string
}

// at are a table's columns in a schema, and what the rows lack of today's.
func (t table) at(schema int) (columns, lacking []string) {
	columns = t.columns
	for _, l := range t.later {
		if schema < l.since {
			columns, lacking = columns[:len(columns)-1], append(lacking, l.before)
		}
	}
	return columns, lacking
}

// tables are all exported tables, each after those that it names rows of. A
// test holds them complete against the schema.
var tables = []table{
	{name: "person", here: "arriving is null", columns: words("id name role alias gone made_at made_by made_from")},
	{name: "method", here: "arriving is null", columns: words("id retired")},
	{name: "method_version", here: "method_id in (select id from method where arriving is null)", columns: words("id method_id version name spec why made_at made_by made_from")},
	{name: "lot", here: "arriving is null", columns: words("id method_id code opened_on expires_on chart_edition tests note retired made_at made_by made_from")},
	{name: "need", here: "arriving is null", columns: words("id name spec retired made_at made_by made_from")},
	{name: "shelf_item", columns: words("id kind retired"), since: 5},
	{name: "shelf_version", columns: words("id item_id version name spec why made_at made_by made_from"), since: 5},
	{name: "prepared", columns: words("id retired"), since: 5},
	{name: "prepared_version", columns: words("id prepared_id version name spec why made_at made_by made_from"), since: 5},
	{name: "curve", columns: words("id retired"), since: 7},
	{name: "curve_version", columns: words("id curve_id version name spec why made_at made_by made_from"), since: 7},
	{name: "curve_adoption", columns: words("id version_id why made_at made_by made_from"), since: 7},
	{name: "curve_recheck", columns: words("id version_id spec outcome led_to why made_at made_by made_from"), since: 9},
	{name: "trial", here: "arriving = 0", columns: words("id state title plan needs notes imported source planned made_at made_by made_from sealed_at sealed_by sealed_from key_digest opened_at opened_by opened_from early open_why open_count key_salt"), later: []later{{"key_salt", 11, ""}}},
	{name: "record", columns: words("id method_id matrix retired"), since: 12},
	{name: "record_version", columns: words("id record_id version name spec why made_at made_by made_from"), since: 12},
	{name: "record_adoption", columns: words("id version_id why made_at made_by made_from"), since: 12},
	{name: "water", columns: words("id retired"), since: 14},
	{name: "water_version", columns: words("id water_id version name spec why made_at made_by made_from"), since: 14},
	{name: "sample", columns: words("id water_id role known u_known spec made_at made_by made_from"), since: 14},
	{name: "result", columns: words("id key digest curve_version_id water text signals own_colour clear dilution u_dilution u_lot analyte unit basis level u low high outside parts notes program note taken_at person_id withdrawn supersedes root why kept_at kept_by kept_from record_version_id reader lot open pieces sample_id nitrite u_nitrite"), since: 8,
		later: []later{{"record_version_id", 12, ""}, {"reader", 12, ""}, {"lot", 12, ""}, {"open", 12, ""}, {"pieces", 12, "[]"}, {"sample_id", 14, ""}, {"nitrite", 18, ""}, {"u_nitrite", 18, "0"}}},
	{name: "result_standing", columns: words("id result_id standing why made_at made_by made_from"), since: 14},
	{name: "known", here: "trial_id not in (select id from trial where arriving = 1)", columns: words("id trial_id pos label level u u_shared matrix blank nitrite u_nitrite u_background"), later: []later{{"nitrite", 18, "0"}, {"u_nitrite", 18, "0"}, {"u_background", 19, "0"}}},
	{name: "vial", here: "trial_id not in (select id from trial where arriving = 1)", columns: words("id trial_id known_id version_id code session session_name pos role technique lot_id dilution u_dilution start_s read_s")},
	{name: "vial_reader", columns: words("reader_id trial_id vial_id")},
	{name: "photo", columns: words("name media_type person_id kept_at kept_by kept_from"), blob: "data"},
	{name: "reading", here: "trial_id not in (select id from trial where arriving = 1)", columns: words("id key digest trial_id vial_id reader_id replicate dilution u_dilution lot_id text low high flags note photo started_at read_at off_by after_key withdrawn supersedes root why source_row kept_at kept_by kept_from")},
	{name: "exclusion", columns: words("id reading_id excluded why after_key at by_name by_from")},
	{name: "answer", columns: words("id trial_id question says answer spec why at by_name by_from"), since: 15},
	{name: "trial_place", here: "trial_id not in (select id from trial where arriving = 1)", columns: words("id trial_id title place why at by_name by_from"), since: 16},
	{name: "heading", columns: words("id header columns at by_name by_from"), since: 15},
	{name: "earlier_log", columns: words("id name digest said readings made_at made_by made_from"), since: 17},
	{name: "earlier_row", columns: words("id log_id source_row water_id method method_id taken_at reading lot reader technique pair dilution known u_known rest nitrite u_nitrite"), since: 17, later: []later{{"nitrite", 18, ""}, {"u_nitrite", 18, "0"}}},
	{name: "earlier_log_place", columns: words("id log_id place why at by_name by_from"), since: 17},
	{name: "vial_start", columns: words("id key vial_id reader_id started_at kept_at kept_by kept_from")},
	{name: "event", columns: words("id at by_name by_from trial_id what why")},
}

// notExported are the tables that hold who may come in.
var notExported = words("secret pairing session attempt")

func words(s string) []string { return strings.Fields(s) }

// statements of each table, declared here so that the test prepares them, too.
var tableSelect, tableInsert = tableStatements()

func tableStatements() (sel, ins map[string]string) {
	sel, ins = map[string]string{}, map[string]string{}
	for _, t := range tables {
		columns := t.all()
		list := strings.Join(columns, ", ")
		marks := strings.TrimSuffix(strings.Repeat("?, ", len(columns)), ", ")
		sel[t.name] = sqlite.SQL(fmt.Sprintf("select %s from %s where %s order by %s, %s, %s", strings.Join(t.columns, ", "), t.name, cmp.Or(t.here, "true"), columns[0], columns[1], t.columns[len(t.columns)-1]))
		ins[t.name] = sqlite.SQL(fmt.Sprintf("insert into %s (%s) values (%s)", t.name, list, marks))
	}
	return sel, ins
}

// all are the columns with the blob last.
func (t table) all() []string {
	if t.blob == "" {
		return t.columns
	}
	return append(append([]string(nil), t.columns...), t.blob)
}
