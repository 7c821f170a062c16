package note_test

import (
	"encoding/json"
	"testing"

	"knownwater/science/note"
)

// Notes once stood in files as sentences; they are read beside codes.
func TestNotesInWordsAreStillRead(t *testing.T) {
	var kept []note.Note
	if err := json.Unmarshal([]byte(`["the level may lie above 9", {"code":"may-lie-above","numbers":{"level":[9]}}]`), &kept); err != nil {
		t.Fatal(err)
	}
	if len(kept) != 2 || !kept[0].Equal(note.Told("the level may lie above 9")) || !kept[1].Equal(note.New("may-lie-above").Number("level", 9)) {
		t.Errorf("%+v", kept)
	}
}
