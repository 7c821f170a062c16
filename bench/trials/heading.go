package trials

import (
	"context"
	"strings"

	"knownwater"
	"knownwater/bench/store"
)

// mostHeader bounds a header that is remembered, in bytes.
const mostHeader = 20_000

// headerKey is a table's header as it is found again: its cells, one a line.
func headerKey(header []string) string {
	cells := make([]string, len(header))
	for i, h := range header {
		cells[i] = strings.Join(strings.Fields(h), " ")
	}
	return strings.Join(cells, "\n")
}

// SaveColumns remembers what the columns of a table are, by their headings, for the
// next table with the same header. Owner.
func (b *Operations) SaveColumns(ctx context.Context, by knownwater.Who, header []string, columns map[string]string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	key := headerKey(header)
	if strings.TrimSpace(key) == "" || len(key) > mostHeader {
		return nil // nothing that could be found again
	}
	text, err := store.ToJSON(columns)
	if err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		at, name, device := t.Stamp(by)
		return t.Exec(insertHeading, key, text, at, name, device)
	})
}

// ColumnsOf is what was last said of the columns of a table with this header; nil
// where nothing was.
func (b *Operations) ColumnsOf(ctx context.Context, header []string) (columns map[string]string, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err := store.All(t.Tx, headingOf, store.ScanJSON[map[string]string], headerKey(header))
		if len(list) > 0 {
			columns = list[0]
		}
		return err
	})
	return columns, err
}
