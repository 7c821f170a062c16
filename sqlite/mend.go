package sqlite

import (
	"context"
	"database/sql"
	"maps"
)

// Step 8 was changed for a few hours after it had first been written, before
// anything was released. Files of versions 8 and 9 from those hours lack two columns
// of results; they are as much ours as the others, and are mended before they are
// brought up to date.
const mended = "migrations/008_results.sql"

const (
	beforeMending = `
		drop trigger result_stays; drop trigger result_kept_for_good; drop trigger result_names_its_maker; drop trigger result_corrects_its_own;
		drop index result_superseded; drop index result_curve; drop index result_water;
		alter table result rename to result_before;`
	afterMending = `
		insert into result (id, key, digest, curve_version_id, water, text, signals, own_colour, clear, dilution, u_dilution, u_lot, analyte, unit, basis,
			level, u, low, high, outside, parts, notes, program, note, taken_at, person_id, withdrawn, supersedes, root, why, kept_at, kept_by, kept_from)
		select id, key, digest, curve_version_id, water, text, signals, '[]', '[]', dilution, u_dilution, u_lot, analyte, unit, basis,
			level, u, low, high, outside, parts, notes, program, note, taken_at, person_id, withdrawn, supersedes, root, why, kept_at, kept_by, kept_from
		from result_before order by id;
		drop table result_before;`
)

// early are the steps as they were before step 8 was changed.
func early(steps []migration) ([]migration, error) {
	first, err := files.ReadFile("migrations/earlier/008_results.sql")
	if err != nil {
		return nil, err
	}
	out := append([]migration(nil), steps...)
	for i := range out {
		if out[i].name == mended {
			out[i].sql = string(first)
		}
	}
	return out, nil
}

// isEarly says whether the file's schema is that of the early steps.
func isEarly(have map[part]string, steps []migration) (bool, error) {
	was, err := early(steps)
	if err != nil {
		return false, err
	}
	want, err := schemaAfter(was)
	return err == nil && maps.Equal(have, want), err
}

// mend brings a file of the early steps to what the steps make now.
func mend(ctx context.Context, tx *sql.Tx, steps []migration) error {
	for _, s := range steps {
		if s.name != mended {
			continue
		}
		for _, text := range []string{beforeMending, s.sql, afterMending} {
			if _, err := tx.ExecContext(ctx, text); err != nil {
				return err
			}
		}
	}
	return nil
}
