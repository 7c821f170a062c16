package trials

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"image"
	_ "image/jpeg" // to check that a photo is one
	_ "image/png"
	"io"
	"time"

	"knownwater"
	"knownwater/bench/store"
)

// Bounds of photos. A phone's page sends at most 1600 pixels a side; what is larger
// comes from elsewhere.
const (
	MostPhotoBytes  = 12 << 20
	mostPixels      = 25 << 20 // by the picture's own account: looking at one that claims more fills memory
	mostManyPixels  = 8 << 20  // of a PNG or a progressive JPEG, which take several times the memory
	mostLoosePhotos = 10       // of one person, waiting for their readings
	loosePhotoLife  = 24 * time.Hour
	mostOfOne       = 1 << 30 // bytes of all photos of one person
)

// oneLook lets one picture be looked into at a time.
var oneLook = make(chan struct{}, 1)

// KeepPhoto keeps a JPEG or PNG and answers the name to put into a reading. The
// same picture sent twice is kept once. It is looked into whole; while ten of a
// person's photos wait for their readings no more are kept, and those that no
// reading named within a day go.
func (b *Operations) KeepPhoto(ctx context.Context, by knownwater.Who, r io.Reader) (name string, err error) {
	data, err := io.ReadAll(io.LimitReader(r, MostPhotoBytes+1))
	if err != nil {
		return "", fmt.Errorf("receive a photo: %w", err)
	}
	if len(data) > MostPhotoBytes {
		return "", knownwater.Refuse(knownwater.TooLarge, "the photo is larger than %d MB", MostPhotoBytes>>20)
	}
	mediaType, err := checkPhoto(ctx, data)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(data)
	name = hex.EncodeToString(sum[:])
	return name, b.write(ctx, func(t tx) error {
		if err := t.Exec(dropLoose, store.TimeText(t.Now.Add(-loosePhotoLife))); err != nil {
			return err
		}
		of, err := store.One(t.Tx, "photos", photosOf, scanPhotos, by.Person)
		if err != nil {
			return err
		}
		switch {
		case of.Loose >= mostLoosePhotos:
			return knownwater.Refuse(knownwater.TooMany, "%d photos wait for their readings: send those first", of.Loose)
		case of.Bytes+int64(len(data)) > mostOfOne:
			return knownwater.Refuse(knownwater.TooLarge, "the photos of one person may take %d MB in all, and these take %d", mostOfOne>>20, of.Bytes>>20)
		}
		at, who, device := t.Stamp(by)
		return t.Exec(insertPhoto, name, mediaType, data, by.Person, at, who, device)
	})
}

// PhotoType says of what type a photo is, or what is wrong with it.
func PhotoType(data []byte) (string, error) {
	c, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || format != "jpeg" && format != "png" {
		return "", knownwater.Faults{{Column: "photo", Found: "a file that is no JPEG or PNG", Want: "a photo as phones take them (ask the phone for JPEG)"}}
	}
	most := int64(mostPixels)
	if _, passes := extent(data, "image/"+format); format == "png" || passes {
		most = mostManyPixels
	}
	if int64(c.Width)*int64(c.Height) > most {
		return "", knownwater.Refuse(knownwater.TooLarge, "the photo has %d × %d pixels", c.Width, c.Height)
	}
	return "image/" + format, nil
}

// checkPhoto looks into a whole picture: that it is one from its first byte to its
// last, and no other file behind the head of a picture.
func checkPhoto(ctx context.Context, data []byte) (string, error) {
	kind, err := PhotoType(data)
	if err != nil {
		return "", err
	}
	select {
	case oneLook <- struct{}{}:
		defer func() { <-oneLook }()
	case <-ctx.Done():
		return "", ctx.Err()
	}
	if _, _, err := image.Decode(bytes.NewReader(data)); err != nil {
		return "", knownwater.Faults{{Column: "photo", Found: "a picture that is damaged or not whole", Want: "the photo as the phone took it"}}
	}
	end, _ := extent(data, kind)
	if end < 0 || len(bytes.TrimRight(data[end:], "\x00")) > 0 {
		return "", knownwater.Faults{{Column: "photo", Found: "something behind the end of the picture", Want: "the photo alone"}}
	}
	return kind, nil
}

// extent is where a picture ends, -1 where no end is found, and whether it comes in
// several passes (a JPEG's frame of type SOF2). It walks over the parts of the file:
// ISO/IEC 10918-1, B.1.1 (JPEG); W3C PNG, 5.
func extent(data []byte, kind string) (end int, passes bool) {
	if kind == "image/png" {
		for at := 8; at+12 <= len(data); {
			size, name := int(binary.BigEndian.Uint32(data[at:])), string(data[at+4:at+8])
			if size > len(data)-at-12 {
				return -1, false
			}
			at += 12 + size
			if name == "IEND" {
				return at, false
			}
		}
		return -1, false
	}
	for at := 2; at+4 <= len(data)+2 && at+1 < len(data); {
		if data[at] != 0xff {
			return -1, passes
		}
		switch marker := data[at+1]; {
		case marker == 0xff: // filling
			at++
			continue
		case marker == 0xd9:
			return at + 2, passes
		case marker == 0x01, marker >= 0xd0 && marker <= 0xd8:
			at += 2
			continue
		case marker == 0xc2:
			passes = true
			fallthrough
		default:
			if at+4 > len(data) {
				return -1, passes
			}
			at += 2 + int(data[at+2])<<8 + int(data[at+3])
			if marker != 0xda {
				continue
			}
		}
		for at+1 < len(data) && (data[at] != 0xff || data[at+1] == 0 || data[at+1] >= 0xd0 && data[at+1] <= 0xd7) { // the picture itself
			at++
		}
	}
	return -1, passes
}

// Photos are the photos of one person, for the owner.
type Photos struct {
	Person int64 // 0: nobody in particular
	Name   string
	N      int
	Loose  int // that no reading names
	Bytes  int64
}

func scanPhotos(scan func(...any) error) (p Photos, err error) {
	err = scan(&p.N, &p.Bytes, &p.Loose)
	return p, err
}

// PhotosKept are whose photos take how much room. Owner.
func (b *Operations) PhotosKept(ctx context.Context, by knownwater.Who) (list []Photos, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, photosKept, func(scan func(...any) error) (p Photos, err error) {
			err = scan(&p.Person, &p.Name, &p.N, &p.Bytes, &p.Loose)
			return p, err
		})
		return err
	})
	return list, err
}

// Photo is a kept photo and its media type. A reader gets their own only.
func (b *Operations) Photo(ctx context.Context, by knownwater.Who, name string) (data []byte, mediaType string, err error) {
	err = b.read(ctx, func(t tx) error {
		var keeper int64
		_, err := store.One(t.Tx, "photo", photoData, func(scan func(...any) error) (any, error) {
			return nil, scan(&data, &mediaType, &keeper)
		}, name)
		if err != nil || by.Role == knownwater.Owner || keeper == by.Person && keeper != 0 {
			return err
		}
		n, err := store.One(t.Tx, "photo", photoUses, store.Value[int], name, by.Person)
		if err == nil && n == 0 {
			return knownwater.Refuse(knownwater.NotAllowed, "this is another reader's photo")
		}
		return err
	})
	if err != nil {
		return nil, "", err
	}
	return data, mediaType, nil
}
