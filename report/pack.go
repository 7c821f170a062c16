package report

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// Pack is a published trial in one archive: the page, what it was made from byte for byte, the
// key, the plan, a data dictionary, a summary, the licence that its author chose, and checksums
// of all that.
type Pack struct {
	Page     []byte // the report, whole
	Inputs   Inputs // that it carries
	Findings assess.Findings
	Trial    knownwater.Trial
	Title    string
	Author   string
	Licence  string // of Licences
}

// Licence is what others may do with a pack: its SPDX name, and what that means.
type Licence struct{ Name, Says string }

// Licences are those that an author may choose.
var Licences = []Licence{
	{"CC0-1.0", "Everybody may use it for anything; nothing is asked for (Creative Commons Zero 1.0)."},
	{"CC-BY-4.0", "Everybody may use it for anything, naming its author (Creative Commons Attribution 4.0)."},
	{"CC-BY-SA-4.0", "Everybody may use it for anything, naming its author, under the same licence (Creative Commons Attribution-ShareAlike 4.0)."},
	{"ODbL-1.0", "Everybody may use the data, naming its author; a changed database stays open (Open Database License 1.0)."},
	{"all-rights-reserved", "Nobody may use it further without asking its author."},
}

// LicenceSays is what a licence means; not ok where it is none of them.
func LicenceSays(name string) (string, bool) {
	for _, l := range Licences {
		if l.Name == name {
			return l.Says, true
		}
	}
	return "", false
}

// LicenceNames lists them as a fault does.
func LicenceNames() string {
	var names []string
	for _, l := range Licences {
		names = append(names, l.Name)
	}
	return either(english, names)
}

// pageInPack is the report's name in a pack, checksumsInPack that of its checksums.
const (
	pageInPack      = "report.html"
	checksumsInPack = "checksums.txt"
)

// WritePack writes a pack. The same trial gives the same bytes.
func WritePack(w io.Writer, p Pack) error {
	says, ok := LicenceSays(p.Licence)
	if !ok {
		return fault("the licence %q", LicenceNames(), p.Licence)
	}
	files, err := p.files(says)
	if err != nil {
		return err
	}
	out := zip.NewWriter(w)
	var sums strings.Builder
	for _, f := range files {
		sum := sha256.Sum256(f.Data)
		fmt.Fprintf(&sums, "%s  %s\n", hex.EncodeToString(sum[:]), f.Name)
	}
	for _, f := range append(files, File{checksumsInPack, []byte(sums.String())}) {
		file, err := out.Create(f.Name) // without a time: the same trial is the same archive
		if err == nil {
			_, err = file.Write(f.Data)
		}
		if err != nil {
			return fmt.Errorf("writing the pack: %w", err)
		}
	}
	if err := out.Close(); err != nil {
		return fmt.Errorf("writing the pack: %w", err)
	}
	return nil
}

// files are all but the checksums.
func (p Pack) files(licence string) ([]File, error) {
	by := p.by()
	s := SummaryOf(p.Findings, p.Trial, p.Title, by)
	files := []File{
		{"README.txt", []byte(p.readme(by, licence))},
		{"LICENCE.txt", []byte(strings.TrimSpace(clean(p.Title)+"\n"+by+"\n\n"+licence) + "\n")},
		{pageInPack, p.Page},
		{"readings.csv", p.Inputs.Readings.Data},
	}
	if len(p.Inputs.Methods.Data) > 0 {
		files = append(files, File{"methods.toml", p.Inputs.Methods.Data})
	}
	if len(p.Inputs.Need.Data) > 0 {
		files = append(files, File{"need.toml", p.Inputs.Need.Data})
	}
	plan, err := json.MarshalIndent(PlanOf(p.Trial), "", "  ")
	if err != nil {
		return nil, err
	}
	versions, err := json.MarshalIndent(map[string]any{"knownwater": p.Findings.Version, "computed_with": Computed(), "seed": p.Findings.Seed, "pack": 1}, "", "  ")
	if err != nil {
		return nil, err
	}
	files = append(files, File{"key.csv", keyCSV(p.Trial)}, File{"plan.json", append(plan, '\n')}, File{"versions.json", append(versions, '\n')},
		File{"dictionary.md", []byte(dictionary)}, File{"summary.txt", []byte(s.Text())}, File{"summary.html", s.HTML(PosterSVG(Poster(p.Findings, p.Trial, p.Title, by, PosterShapes["wide"])))})
	for _, shape := range []string{"wide", "square"} {
		figure := Poster(p.Findings, p.Trial, p.Title, by, PosterShapes[shape])
		var png bytes.Buffer
		if err := PosterPNG(&png, figure); err != nil {
			return nil, err
		}
		files = append(files, File{"summary-" + shape + ".svg", []byte(PosterSVG(figure))}, File{"summary-" + shape + ".png", png.Bytes()})
	}
	return files, nil
}

func (p Pack) by() string {
	if p.Author == "" {
		return p.Licence
	}
	return "By " + clean(p.Author) + ", " + p.Licence
}

func (p Pack) readme(by, licence string) string {
	return fmt.Sprintf(`%s
%s. %s

report.html     the findings: open it in a browser; it carries its readings
summary.*       one plain page with one figure, to show
readings.csv    one row a reading; methods.toml, need.toml: what was tried, for what
key.csv         which vial held what
plan.json       what it takes to repeat the trial
dictionary.md   what every column means
checksums.txt   SHA-256 of every other file

What it is good for on another bench:
  knownwater recheck pack.zip                                every number again
  knownwater read pack.zip --method NAME --reading 6..12     a reading, by this record
  knownwater choose pack.zip --need need.toml                which method for which need
  knownwater agree pack.zip other.zip                        do two benches agree?
In the browser, under Trials: bring it in, or plan the same trial.
`, clean(p.Title), by, licence)
}

// keyCSV is which vial held what.
func keyCSV(t knownwater.Trial) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write([]string{"vial", "method", "dilution", "level", "u_level", "matrix", "session", "nitrite"})
	seen := map[string]bool{}
	var rows [][]string
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for o := range t.Every() {
		if o.Vial == "" {
			continue
		}
		row := []string{o.Vial, o.Method, num(o.Dilution), num(o.Level), num(o.ULevel), o.Matrix, o.Session, num(o.Nitrite)}
		if key := strings.Join(row, "\x00"); !seen[key] {
			seen[key] = true
			rows = append(rows, safeRow(row))
		}
	}
	slices.SortFunc(rows, slices.Compare[[]string])
	w.WriteAll(rows)
	return b.Bytes()
}

// safeRow marks texts that a spreadsheet would take for formulas.
func safeRow(row []string) []string {
	for i, s := range row {
		if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
			row[i] = "'" + s
		}
	}
	return row
}

const dictionary = `# What the columns mean

## readings.csv: one row a reading

| column | meaning |
|---|---|
| method | name; described in methods.toml |
| level | concentration of the known, in the unit and basis of methods.toml |
| u_level, u_shared, u_background | its standard uncertainty (k = 1); the part of it that all levels share, as that of their stock; and the part from the background of their water, which they share too |
| nitrite, u_nitrite | nitrite that the known held beside, mg/L NO2, and its standard uncertainty: such a reading judges no level, it tells what the method makes of nitrite |
| reading | as it was seen: 10, 6..15 (between), <0.5, >50, 7d (drops) |
| dilution, u_dilution | factor that the reading is multiplied by, and its relative standard uncertainty |
| technique | how carefully the test was done |
| session, reader, lot, vial, replicate | what readings have in common |
| matrix | the water that the known was made in |
| taken_at, note | when; a remark |

## key.csv: one row a vial

vial (its code), method, dilution, level, u_level, matrix, session, nitrite: as above.

## plan.json

Knowns with their uncertainties; for every method how many vials of each it read, by how many people, with which techniques and how many lots.
`

// mostInPack bounds the files of a pack that is read.
const mostInPack = 1000

// zipped says whether data is an archive.
func zipped(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }

// pageOf is the report in a pack, whose checksums all have to hold.
func pageOf(data []byte) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fault("the archive cannot be read", "a pack as it was written, saved whole")
	}
	if len(z.File) > mostInPack {
		return nil, fault("an archive of %d files", "a pack, which has some twenty", len(z.File))
	}
	files, left := map[string][]byte{}, int64(maxPage)
	for _, f := range z.File {
		if files[f.Name] != nil {
			return nil, fault("the archive holds %s twice", "a pack as it was written", clean(f.Name))
		}
		r, err := f.Open()
		if err != nil {
			return nil, fault("%s in the archive cannot be read", "a pack as it was written, saved whole", clean(f.Name))
		}
		b, err := io.ReadAll(io.LimitReader(r, left+1))
		r.Close()
		if left -= int64(len(b)); err != nil || left < 0 {
			return nil, fault("%s in the archive cannot be read, or is larger than any", "a pack as it was written, saved whole", clean(f.Name))
		}
		files[f.Name] = append([]byte{}, b...)
	}
	if files[pageInPack] == nil || files[checksumsInPack] == nil {
		return nil, fault("the archive holds no %s with %s", "a pack that knownwater pack wrote", pageInPack, checksumsInPack)
	}
	checked := map[string]bool{}
	for _, line := range strings.Split(strings.TrimSuffix(string(files[checksumsInPack]), "\n"), "\n") {
		sum, name, ok := strings.Cut(line, "  ")
		is := sha256.Sum256(files[name])
		if !ok || files[name] == nil || hex.EncodeToString(is[:]) != sum {
			return nil, fault("%s is not what its checksum says", "the pack as it was published: this one was changed or damaged", cut(clean(name), 80))
		}
		checked[name] = true
	}
	if !checked[pageInPack] {
		return nil, fault("no checksum of %s", "the pack as it was published", pageInPack)
	}
	return files[pageInPack], nil
}
