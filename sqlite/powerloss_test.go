package sqlite

import (
	"bytes"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// disk is what stands in the two files of a bench at one moment: the database
// and the log of writes that it does not hold yet.
type disk struct{ file, log []byte }

// recorded is a short run: the disk before anything was written, and after each
// write when it was acknowledged. Write k (from 1) puts in perWrite rows that
// carry its number; together they take several pages.
func recorded(t *testing.T, writes int) []disk {
	t.Helper()
	path := newPath(t)
	db := mustOpen(t, path)
	for _, pragma := range []string{"wal_checkpoint(truncate)", "wal_autocheckpoint = 20"} { // so that a short run meets both
		if _, err := db.write.ExecContext(ctx, "pragma "+pragma); err != nil {
			t.Fatal(err)
		}
	}
	now := func() disk {
		return disk{mustRead(t, path), mustRead(t, path+"-wal")}
	}
	run := []disk{now()}
	for k := 1; k <= writes; k++ {
		err := db.Write(ctx, func(tx *sql.Tx) error {
			for i := range perWrite {
				name := fmt.Sprintf("%d/%d %s", k, i, strings.Repeat("x", (37*k+11*i)%900))
				if _, err := tx.ExecContext(ctx, addPerson, name); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		run = append(run, now())
	}
	return run
}

const perWrite = 3

func mustRead(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// holds opens the disk as a program does after the power came back, and answers
// which writes it holds; one that is there in part fails the test, and so does a
// file that is not opened. What is left of the shared index is of no use then:
// it is put there as noise.
func (d disk) holds(t *testing.T, dir, what string) int {
	t.Helper()
	path := filepath.Join(dir, "bench.db")
	for name, b := range map[string][]byte{path: d.file, path + "-wal": d.log, path + "-shm": bytes.Repeat([]byte{0xa5}, 32768)} {
		if err := os.WriteFile(name, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	db, err := Open(ctx, path)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	defer db.Close()
	writes := 0
	err = db.Read(ctx, func(tx *sql.Tx) error {
		names, err := All(ctx, tx, "select name from person order by id", func(scan func(...any) error) (s string, err error) { return s, scan(&s) })
		for i, name := range names {
			if want := fmt.Sprintf("%d/%d ", i/perWrite+1, i%perWrite); !strings.HasPrefix(name, want) {
				t.Fatalf("%s: row %d is %.12q, want %q", what, i, name, want)
			}
		}
		if len(names)%perWrite != 0 {
			t.Fatalf("%s: %d rows: half of a write is there", what, len(names))
		}
		writes = len(names) / perWrite
		return err
	})
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	return writes
}

// sector is what a disk writes whole or not at all.
const sector = 512

// mixed is a file while new is being written over old: of each sector one or the
// other, in any order; the end that was not written is missing or zeros.
func mixed(old, new []byte, rng *rand.Rand) []byte {
	share, out := rng.Float64(), slices.Clone(new)
	for at := 0; at < len(out); at += sector {
		if rng.Float64() < share {
			continue
		}
		end := min(at+sector, len(out))
		clear(out[at:end])
		if at < len(old) {
			copy(out[at:end], old[at:])
		}
	}
	return out
}

// TestPowerLoss cuts a recorded run off where the power could fail and opens
// what the disk then holds. SQLite's own account of what reaches the disk in
// which order is taken for true (https://www.sqlite.org/atomiccommit.html,
// https://www.sqlite.org/wal.html, and walWriteToLog in its source): at a write the
// log is on the disk before it is acknowledged; the log's new head, before the log
// is begun again; the database, before that. Between two such points anything
// may have been written, in any order, and a sector may be torn.
func TestPowerLoss(t *testing.T) {
	const writes = 20
	run, dir, rng := recorded(t, writes), t.TempDir(), rand.New(rand.NewPCG(11, 1))
	opened, again, copied := 0, 0, 0
	exactly := func(d disk, want int, what string, args ...any) {
		t.Helper()
		what = fmt.Sprintf(what, args...)
		if got := d.holds(t, dir, what); got != want {
			t.Errorf("%s: %d writes are there, %d were acknowledged", what, got, want)
		}
		opened++
	}
	for k := 1; k < len(run); k++ {
		before, after := run[k-1], run[k]
		old := before.log
		if len(old) > 0 && !bytes.Equal(old[:32], after.log[:32]) {
			again++
			for _, cut := range []int{1, 9, 17, 25} { // the head, torn
				exactly(disk{before.file, over(old, after.log[:cut])}, k-1, "write %d begins the log again, %d bytes of its head", k, cut)
			}
			old = over(old, after.log[:32])
		}
		end := written(old, after.log)
		for _, cut := range cuts(old, after.log[:end], rng) {
			want := k - 1
			if cut == end {
				want = k
			}
			exactly(disk{before.file, over(old, after.log[:cut])}, want, "write %d, the log cut at byte %d of %d", k, cut, end)
		}
		for range 2 {
			torn := mixed(old, after.log, rng)
			want := k - 1
			if bytes.Equal(torn, after.log) {
				want = k
			}
			exactly(disk{before.file, torn}, want, "write %d, its sectors in any order", k)
		}
		if !bytes.Equal(before.file, after.file) { // what the log holds was copied into the database
			copied++
			for range 6 {
				exactly(disk{mixed(before.file, after.file, rng), after.log}, k, "write %d acknowledged, the database half brought up to it", k)
			}
		}
	}
	t.Logf("%d disks opened; %d times the log began again, %d times the database was brought up to it", opened, again, copied)
	if again < 2 || copied < 2 {
		t.Error("the run was too short to meet what it is about")
	}
}

// over is old with new written over its beginning.
func over(old, new []byte) []byte {
	if len(new) >= len(old) {
		return new
	}
	return append(slices.Clone(new), old[len(new):]...)
}

// written is how far a write went into the log: behind it stands what stood there.
func written(old, new []byte) int {
	end := len(new)
	for end > 0 && end <= len(old) && old[end-1] == new[end-1] {
		end--
	}
	return end
}

// cuts are points at which a write of the log can stop, from where old and new no
// longer agree: each frame (24 bytes and a page) not begun, its head or its page
// torn, and all but the last byte.
func cuts(old, new []byte, rng *rand.Rand) []int {
	const frame = 24 + 4096
	same, end := 0, len(new)
	for same < min(len(old), end) && old[same] == new[same] {
		same++
	}
	points := []int{end - 1, end}
	for at := 32 + max(0, same-32)/frame*frame; at < end-1; at += frame {
		torn := at + 24 + rng.IntN(4096)
		if rng.IntN(4) == 0 {
			torn = at + 1 + rng.IntN(23)
		}
		points = append(points, at, min(torn, end-1))
	}
	slices.Sort(points)
	return slices.Compact(points)
}

// TestAcknowledgedIsOnTheDisk: the settings that TestPowerLoss relies on.
func TestAcknowledgedIsOnTheDisk(t *testing.T) {
	db := mustOpen(t, newPath(t))
	for pragma, want := range map[string]string{"synchronous": "2", "journal_mode": "wal"} {
		var have string
		if err := db.write.QueryRowContext(ctx, "pragma "+pragma).Scan(&have); err != nil || have != want {
			t.Errorf("%s is %s, %v; want %s", pragma, have, err, want)
		}
	}
}
