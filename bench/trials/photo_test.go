package trials_test

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
)

// picture is a small picture, another one for each n.
func picture(t *testing.T, n int, kind string) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 16, 16))
	img.Set(n%16, n/16%16, color.RGBA{uint8(n), 200, 7, 255})
	var b bytes.Buffer
	var err error
	if kind == "png" {
		err = png.Encode(&b, img)
	} else {
		err = jpeg.Encode(&b, img, nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestPhotosAreLookedInto: a picture's head before anything else is no picture.
func TestPhotosAreLookedInto(t *testing.T) {
	s := benchtest.New(t)
	for _, kind := range []string{"png", "jpeg"} {
		whole := picture(t, 1, kind)
		if _, err := s.KeepPhoto(ctx, s.Ines, bytes.NewReader(whole)); err != nil {
			t.Errorf("%s: %v", kind, err)
		}
		junk := bytes.Repeat([]byte("junk"), 1<<20)
		for name, bad := range map[string][]byte{
			"cut":                  whole[:len(whole)*2/3],
			"the head only":        append(bytes.Clone(whole[:len(whole)/2]), junk...),
			"something behind":     append(bytes.Clone(whole), junk...),
			"an end behind that":   append(append(bytes.Clone(whole), junk...), whole[len(whole)-12:]...),
			"a picture behind one": append(bytes.Clone(whole), whole...),
		} {
			if _, err := s.KeepPhoto(ctx, s.Ines, bytes.NewReader(bad)); err == nil {
				t.Errorf("%s, %s: kept", kind, name)
			}
		}
	}
}

// TestLoosePhotos: photos that wait for their readings are few, a reading makes room
// again, and what no reading names within a day goes; the owner sees how many.
func TestLoosePhotos(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	var names []string
	var err error
	for i := range 100 {
		var name string
		if name, err = s.KeepPhoto(ctx, s.Ines, bytes.NewReader(picture(t, i, "png"))); err != nil {
			break
		}
		names = append(names, name)
	}
	benchtest.WantRefusal(t, err, knownwater.TooMany)
	if len(names) != 10 {
		t.Errorf("%d loose photos were kept", len(names))
	}
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 0))(t)
	v := run.Vials[0]
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: benchtest.Seen(benchtest.MethodOf(run, v.Method)), Photo: names[0]}))(t)
	if _, err := s.KeepPhoto(ctx, s.Ines, bytes.NewReader(picture(t, 200, "png"))); err != nil {
		t.Errorf("after a reading took one: %v", err)
	}
	list := benchtest.Must(s.PhotosKept(ctx, benchtest.Owner))(t)
	if len(list) != 1 || list[0].Name != "Ines" || list[0].N != 11 || list[0].Loose != 10 || list[0].Bytes == 0 {
		t.Errorf("the owner sees %+v", list)
	}
	_, err = s.PhotosKept(ctx, s.Ines)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	s.Clock.T = s.Clock.T.Add(25 * time.Hour)
	if _, err := s.KeepPhoto(ctx, s.Tomo, bytes.NewReader(picture(t, 201, "png"))); err != nil {
		t.Fatal(err)
	}
	for i, name := range names[:2] {
		_, _, err := s.Photo(ctx, benchtest.Owner, name)
		if gone := errors.Is(err, &knownwater.Refusal{Kind: knownwater.NotFound}); gone != (i == 1) {
			t.Errorf("photo %d after a day: %v", i, err)
		}
	}
}

// TestPhotoOfAnother: who learns the name of another reader's photo cannot open it,
// by a reading of their own that names it neither.
func TestPhotoOfAnother(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	name := benchtest.Must(s.KeepPhoto(ctx, s.Ines, bytes.NewReader(picture(t, 3, "jpeg"))))(t)
	run := benchtest.Must(s.Run(ctx, s.Tomo, r.ID, 0))(t)
	v := run.Vials[0]
	_, err := s.KeepReading(ctx, s.Tomo, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: benchtest.Seen(benchtest.MethodOf(run, v.Method)), Photo: name})
	benchtest.WantFault(t, err, "photo")
	_, _, err = s.Photo(ctx, s.Tomo, name)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
}

// TestTimesOfNoClock: a reading was not taken in year 1, nor will it be in 9999.
func TestTimesOfNoClock(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 0))(t)
	v := run.Vials[0]
	for _, at := range []time.Time{time.Date(1, 1, 2, 0, 0, 0, 0, time.UTC), time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC), time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC), s.Clock.T.Add(25 * time.Hour)} {
		n := trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: benchtest.Seen(benchtest.MethodOf(run, v.Method))}
		n.ReadAt = at
		_, err := s.KeepReading(ctx, s.Ines, n)
		benchtest.WantFault(t, err, "read_at")
		n.ReadAt, n.StartedAt = time.Time{}, at
		_, err = s.KeepReading(ctx, s.Ines, n)
		benchtest.WantFault(t, err, "started_at")
		benchtest.WantFault(t, s.StartVial(ctx, s.Ines, trials.VialStart{Key: benchtest.NewKey(), Vial: v.ID, StartedAt: at}), "started_at")
	}
}
