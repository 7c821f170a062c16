package trials

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	_ "image/jpeg" // to check that a photo is one
	_ "image/png"
	"io"

	"knownwater"
	"knownwater/bench/store"
)

// MostPhotoBytes is the largest photo that is kept.
const MostPhotoBytes = 12 << 20

// mostPixels is the largest picture by its own account: one that claims more is
// made to fill memory.
const mostPixels = 200 << 20

// KeepPhoto keeps a JPEG or PNG and answers the name to put into a reading. The
// same picture sent twice is kept once.
func (b *Operations) KeepPhoto(ctx context.Context, by knownwater.Who, r io.Reader) (name string, err error) {
	data, err := io.ReadAll(io.LimitReader(r, MostPhotoBytes+1))
	if err != nil {
		return "", fmt.Errorf("receive a photo: %w", err)
	}
	if len(data) > MostPhotoBytes {
		return "", knownwater.Refuse(knownwater.TooLarge, "the photo is larger than %d MB", MostPhotoBytes>>20)
	}
	mediaType, err := PhotoType(data)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(data)
	name = hex.EncodeToString(sum[:])
	return name, b.write(ctx, func(t tx) error {
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
	if int64(c.Width)*int64(c.Height) > mostPixels {
		return "", knownwater.Refuse(knownwater.TooLarge, "the photo has %d × %d pixels", c.Width, c.Height)
	}
	return "image/" + format, nil
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
