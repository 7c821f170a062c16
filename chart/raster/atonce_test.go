package raster

import (
	"bytes"
	"sync"
	"testing"
)

// TestPaintAtOnce: pictures painted side by side are the picture painted alone; they
// share the faces of the letters.
func TestPaintAtOnce(t *testing.T) {
	paint := func() []byte {
		s, err := Lay(drawing, 200)
		if err != nil {
			t.Error(err)
			return nil
		}
		var b bytes.Buffer
		if err := s.PNG(&b, 2); err != nil {
			t.Error(err)
		}
		return b.Bytes()
	}
	var all [4][]byte
	var side sync.WaitGroup
	for i := range all {
		side.Go(func() { all[i] = paint() })
	}
	side.Wait()
	for i, got := range all {
		if !bytes.Equal(got, paint()) {
			t.Errorf("picture %d is another", i)
		}
	}
}
