package report

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"runtime"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// File is one file that findings were made from, byte for byte.
type File struct {
	Name string
	Data []byte
}

// Inputs is all that is needed to compute the findings of a page again.
type Inputs struct {
	Readings File // of a history: the log
	Methods  File // no name where none was given
	Need     File
	Options  map[string]string // what was asked on the command line beside the files
	Made     string            // when the page was made, as it shall be printed
	Story    *Story            // how the trial was run; nil where no bench ran it
	Seal     *knownwater.Seal  // what proves that its key is the one that was sealed; nil: there is none
	Signer   string            // the bench's public key (Ed25519, base64) where the page is to be signed
	Records  []Inputs          // of a history: the trials that its records are of, in the order in which they were given; a trial has none
	Report   string            // of such a trial: the name of its report
}

// The ids of the data blocks in a page.
const (
	inputsID   = "knownwater-inputs"
	findingsID = "knownwater-findings"
)

// Bounds on what Extract will take in, so that a hostile page costs no more.
const (
	maxPage = 256 << 20
	maxFile = 512 << 20

	mostRecords = 100 // in a page of a history
)

// packed is a file as it stands in the page.
type packed struct {
	Name   string `json:"name"`
	Bytes  int    `json:"bytes"`
	SHA256 string `json:"sha256"`
	Gzip64 string `json:"gzip_base64"`
}

type packedInputs struct {
	Format   int               `json:"format"`
	Readings packed            `json:"readings"`
	Methods  *packed           `json:"methods,omitempty"`
	Need     *packed           `json:"need,omitempty"`
	Options  map[string]string `json:"options,omitempty"`
	Made     string            `json:"made,omitempty"`
	Story    *Story            `json:"story,omitempty"`
	Seal     *knownwater.Seal  `json:"seal,omitempty"`
	Signer   string            `json:"signer,omitempty"`
	Records  []packedInputs    `json:"records,omitempty"`
	Report   string            `json:"report,omitempty"`
	Computed string            `json:"computed_with,omitempty"` // processor and compiler: others round last digits differently
}

// Computed is what this program was built for and with.
func Computed() string { return runtime.GOARCH + " " + runtime.Version() }

// pack makes the data block of the inputs.
func (in Inputs) pack() (packedInputs, error) {
	p := packedInputs{Format: 1, Options: in.Options, Made: in.Made, Story: in.Story, Seal: in.Seal, Signer: in.Signer, Report: base(in.Report), Computed: Computed()}
	for _, f := range []struct {
		from File
		to   **packed
	}{{in.Methods, &p.Methods}, {in.Need, &p.Need}} {
		if f.from.Name == "" && len(f.from.Data) == 0 {
			continue
		}
		q, err := f.from.pack()
		if err != nil {
			return p, err
		}
		*f.to = &q
	}
	for _, r := range in.Records {
		q, err := r.pack()
		if err != nil {
			return p, err
		}
		q.Computed = "" // as the page's own
		p.Records = append(p.Records, q)
	}
	var err error
	p.Readings, err = in.Readings.pack()
	return p, err
}

func (f File) pack() (packed, error) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write(f.Data); err != nil {
		return packed{}, fmt.Errorf("packing %s: %w", f.Name, err)
	}
	if err := z.Close(); err != nil {
		return packed{}, fmt.Errorf("packing %s: %w", f.Name, err)
	}
	sum := sha256.Sum256(f.Data)
	return packed{base(f.Name), len(f.Data), hex.EncodeToString(sum[:]), base64.StdEncoding.EncodeToString(b.Bytes())}, nil
}

// base is a file's name without the folders of somebody's machine.
func base(name string) string {
	return name[strings.LastIndexAny(name, `/\`)+1:]
}

// Extract reads the inputs and the findings back out of a page. What is no such
// page, is damaged or too large comes back as a Fault.
func Extract(r io.Reader) (Inputs, assess.Findings, error) {
	var f assess.Findings
	d, err := Open(r)
	if err != nil {
		return Inputs{}, f, err
	}
	if err := json.Unmarshal(d.findings, &f); err != nil {
		return Inputs{}, f, damaged("findings", err)
	}
	return d.Inputs, f, nil
}

func (p packedInputs) unpack() (Inputs, error) {
	in := Inputs{Options: p.Options, Made: p.Made, Story: p.Story, Seal: p.Seal, Signer: p.Signer, Report: p.Report}
	if p.Format != 1 {
		return in, fault("the inputs are written in format %d", "format 1, which this version reads; a newer version may read the other", p.Format)
	}
	for _, f := range []struct {
		from *packed
		to   *File
	}{{&p.Readings, &in.Readings}, {p.Methods, &in.Methods}, {p.Need, &in.Need}} {
		if f.from == nil {
			continue
		}
		var err error
		if *f.to, err = f.from.unpack(); err != nil {
			return Inputs{}, err
		}
	}
	if len(p.Records) > mostRecords {
		return Inputs{}, fault("a page of %d records", "at most %d", len(p.Records), mostRecords)
	}
	for _, r := range p.Records {
		if r.Records != nil {
			return Inputs{}, fault("a record in the report that has records itself", "the report as it was first written")
		}
		one, err := r.unpack()
		if err != nil {
			return Inputs{}, err
		}
		in.Records = append(in.Records, one)
	}
	return in, nil
}

func (p packed) unpack() (File, error) {
	if p.Bytes < 0 || p.Bytes > maxFile {
		return File{}, fault("%s claims to hold %d bytes", "at most %d MB", clean(p.Name), p.Bytes, maxFile>>20)
	}
	raw, err := base64.StdEncoding.DecodeString(p.Gzip64)
	if err != nil {
		return File{}, damaged(p.Name, err)
	}
	packed := bytes.NewReader(raw)
	z, err := gzip.NewReader(packed)
	if err != nil {
		return File{}, damaged(p.Name, err)
	}
	z.Multistream(false)
	data, err := io.ReadAll(io.LimitReader(z, int64(p.Bytes)+1))
	if err != nil {
		return File{}, damaged(p.Name, err)
	}
	if z.Name != "" || z.Comment != "" || len(z.Extra) > 0 || packed.Len() > 0 && len(data) <= p.Bytes {
		return File{}, fault("%s in the report is packed with something beside it", "the report as it was first written", clean(p.Name))
	}
	sum := sha256.Sum256(data)
	if len(data) != p.Bytes || hex.EncodeToString(sum[:]) != p.SHA256 {
		return File{}, fault("%s in the report does not match its own fingerprint", "the report as it was first written", clean(p.Name))
	}
	return File{p.Name, data}, nil
}

// block finds one data block by its id; there must be exactly one. The page's
// writer escapes every < that comes from a person, so no name can pose as one.
// at is where it begins.
func block(page []byte, id string) (data []byte, at int, err error) {
	open := regexp.MustCompile(`(?i)<script\b[^<>]*\bid="?` + id + `"?[^<>]*>`)
	places := open.FindAllIndex(page, 2)
	if len(places) == 0 {
		return nil, 0, fault("the page holds no %s", "a report written by this program, saved whole", id)
	}
	if len(places) > 1 {
		return nil, 0, fault("the page holds %s twice", "a report written by this program, unchanged", id)
	}
	at = places[0][1]
	end := endOfBlock.FindIndex(page[at:])
	if end == nil {
		return nil, 0, fault("the page ends inside %s", "the whole report: this one was cut short", id)
	}
	return page[at : at+end[0]], at, nil
}

var endOfBlock = regexp.MustCompile(`(?i)</script`)

func fault(found, want string, values ...any) error {
	return knownwater.Fault{Found: found, Want: want}.Of(values...)
}

func damaged(what string, err error) error {
	return fault("%s in the report cannot be read (%v)", "the report as it was first written", clean(what), err)
}
