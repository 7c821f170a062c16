package intake

import (
	"bytes"
	"io"
	"unicode/utf8"
)

// pieceSize is how much of a large file is held at a time; mostRow bounds a row
// of one.
const pieceSize, mostRow = 1 << 20, 64 << 20

// pieces is a large file of plain UTF-8, read piece by piece.
type pieces struct {
	src    Source
	start  int64 // behind a byte order mark
	quotes bool  // whether it holds a quote at all
	head   []byte
}

// lookThrough reads a file once to see that it is plain: UTF-8 without NUL bytes
// and with LF at the ends of lines. nil: it is not, and has to be taken in whole.
func lookThrough(src Source, stop func() bool) (*pieces, error) {
	p := &pieces{src: src}
	if bytes.HasPrefix(src.head(), []byte("\xef\xbb\xbf")) {
		p.start = 3
	}
	buf := make([]byte, pieceSize)
	held, lf, cr := 0, false, false
	for at := p.start; at < src.Size; {
		if stop() {
			return nil, nil
		}
		n, err := src.File.ReadAt(buf[held:min(int64(len(buf)), int64(held)+src.Size-at)], at)
		if n == 0 && err != nil {
			return nil, err
		}
		at += int64(n)
		text := buf[:held+n]
		if p.head == nil {
			p.head = bytes.Clone(text[:min(len(text), 100)])
		}
		whole := len(text)
		if at < src.Size { // a character may be cut in two
			for whole > len(text)-utf8.UTFMax && whole > 0 && !utf8.RuneStart(text[whole-1]) {
				whole--
			}
			if whole > 0 && text[whole-1] >= utf8.RuneSelf {
				whole--
			}
		}
		if bytes.IndexByte(text[:whole], 0) >= 0 || !utf8.Valid(text[:whole]) {
			return nil, nil
		}
		lf = lf || bytes.IndexByte(text, '\n') >= 0
		cr = cr || !lf && bytes.IndexByte(text, '\r') >= 0
		p.quotes = p.quotes || bytes.IndexByte(text, '"') >= 0
		held = copy(buf, text[whole:])
	}
	if cr && !lf {
		return nil, nil
	}
	return p, nil
}

// reader begins at the first byte of the text.
func (p *pieces) reader() *piece { return &piece{pieces: p, at: p.start} }

// piece is a place in a large file.
type piece struct {
	*pieces
	at  int64
	buf []byte
}

// refill is what is left of the text before, and more behind it, as long as
// there is any. It may overwrite what it gave before.
func (p *piece) refill(rest []byte) []byte {
	need := len(rest) + pieceSize
	if len(rest) > pieceSize/2 {
		need = 2*len(rest) + pieceSize
	}
	if cap(p.buf) < need {
		p.buf = append(make([]byte, 0, need), rest...)
	} else {
		p.buf = p.buf[:copy(p.buf[:len(rest)], rest)]
	}
	room := p.buf[len(p.buf):cap(p.buf)]
	if left := p.src.Size - p.at; int64(len(room)) > left {
		room = room[:left]
	}
	n, err := p.src.File.ReadAt(room, p.at)
	if err != nil && err != io.EOF && n == 0 {
		n = 0 // the file was there a moment ago: what is missing shows as a cut row
	}
	p.at += int64(n)
	p.buf = p.buf[:len(p.buf)+n]
	return p.buf
}
