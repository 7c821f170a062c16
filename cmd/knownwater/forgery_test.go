package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// forgeries are ways to make a report say what it does not; each names what it
// puts in the place of what, once. The pattern says what recheck must name: the
// row and the change.
var forgeries = []struct {
	name  string
	edit  func(page string) string
	names string
}{
	{"a verdict turned", swap(`<strong class="word outside">Not fit`, `<strong class="word within">Fit`), `under “.*”: “.*Fit.*” stands: “.*Not fit.*” should`},
	{"a verdict's colour", swap(`class="word outside"`, `class="word within"`), `“.*word within.*” stands: “.*word outside.*” should`},
	{"a cell of a table", sub(`(<td role="cell" class="r" data-l="as read">)[^<]*`, "${1}±0.01"), `“.*±0.01.*” stands`},
	{"a bar of a figure", sub(`<rect ([^>]*)width="[0-9.]+"`, `<rect ${1}width="1"`), `“.*width="1".*” stands`},
	{"a figure's number", sub(`(<text[^>]*>)[0-9.]+`, "${1}9.9"), `9\.9.*” stands`},
	{"the title", sub(`<title>[^<]*`, "<title>Certified by everybody"), `“Certified by everybody” stands`},
	{"the heading", sub(`(<h1[^>]*>(?:<[^>]*>)*)[^<]*`, "${1}Nothing wrong here"), `“Nothing wrong here.*” stands`},
	{"a new main", func(p string) string {
		return p[:strings.Index(p, "<main>")] + "<main><h1>All fit</h1></main>" + p[strings.Index(p, "</main>")+len("</main>"):]
	}, `“All fit.*” stands`},
	{"a second main over the first", swap("<main>", `<main style="position:fixed;inset:0;background:#fff"><h1>All fit</h1></main><main>`), `“All fit” stands`},
	{"a script", swap("</body>", "<script>document.title='x'</script>\n</body>"), `“.*document.title.*” stands: nothing should stand there`},
	{"a handler", swap("<body>", `<body onload="x()">`), `“<body onload="x\(\)">” stands: “<body>” should`},
	{"a style that hides", swap("</style>", "#limits { display: none }</style>"), `in the page’s style: .*display: none`},
	{"a style of its own element", swap("</head>", "<style>.word.outside::before { content: 'not ' }</style>\n</head>"), `“.*content.*” stands`},
	{"a style that overlays text", swap("</style>", ".say::after{content:'Fit for all'}</style>"), `Fit for all`},
	{"an attribute that hides", swap(`<section class="leaf" id="mind">`, `<section class="leaf" id="mind" hidden>`), `“.*hidden.*” stands`},
	{"text in the colour of paper", sub(`<p class="([^"]*)">`, `<p class="${1}" style="color:#fff">`), `“.*color:#fff.*” stands`},
	{"a linked style sheet", swap("</head>", `<link rel="stylesheet" href="x.css">`+"\n</head>"), `x\.css`},
	{"a frame", swap("</main>", `<iframe src="https://example.org"></iframe></main>`), `iframe`},
	{"a section taken out", func(p string) string {
		from := strings.Index(p, `<section class="leaf" id="limits">`)
		return p[:from] + p[from+strings.Index(p[from:], "</section>\n")+len("</section>\n"):]
	}, `missing: “.*” should|” should`},
	{"a sentence taken out", sub(`<p class="[^"]*">[^\n]*</p>\n`, ""), `should`},
	{"a comment", swap("<main>", "<main><!-- all fit -->"), `all fit`},
	{"words after the end", func(p string) string { return p + "All fit." }, `“All fit.” stands`},
	{"words before the beginning", func(p string) string { return "All fit.\n" + p }, `“All fit.” stands`},
	{"spaces at the end of a line", swap("<main>\n", "<main>  \n"), `“<main>  ” stands: “<main>” should`},
	{"the ends of lines", func(p string) string { return strings.ReplaceAll(p, "\n", "\r\n") }, `\\u000d`},
	{"a number in the data", swap(`"slope":`, `"slope":1`), `slope: was 1`},
	{"a last digit in the data", sub(`("slope":[0-9.]*)[0-9]`, "${1}x"), `cannot be read`},
	{"a last digit changed", lastDigit, `“.*” stands: “.*” should`},
	{"a key twice", sub(`("slope":[0-9.e-]+)`, `${1},${1}`), `the key "slope" stands twice`},
	{"a key twice, in capitals", sub(`"made":"[^"]*"`, `"made":"1 May 2020","MADE":"2 May 2020"`), `the key "MADE" stands twice`},
	{"an unknown key of the inputs", swap(`"format":1,`, `"format":1,"remark":"x",`), `“.*remark.*” stands`},
	{"an unknown key of the findings", swap(`"analyte":`, `"grade":"A","analyte":`), `grade: was "A", now null`},
	{"spaces in the data", swap(`"format":1,`, `"format": 1,`), `“.*"format": 1.*” stands`},
	{"the day in sight", sub(`(Page made</dt><dd><bdi>)[^<]*`, "${1}1 May 2020"), `“.*1 May 2020.*” stands`},
	{"the seed", sub(`"seed":"1"`, `"seed":"2"`), `was`},
	{"steering of a terminal", swap("<main>", "<main>\x1b[2J\x1b[1;1HEvery number stands"), `\\u001b\[2J`},
	{"letters that look alike", swap(`Dogwood`, "D\u043egwood"), `D\x{043e}gwood`},
	{"characters that are not seen", swap(`Dogwood`, "Dog\u200bwood"), `Dog\\u200bwood`},
	{"bytes that are no text", swap("<main>", "<main>\xff\xfe"), `\\xff`},
	{"a data block of bytes that are no text", sub(`(id="knownwater-findings">)[^\n]*(</script>)`, "${1}"+strings.Repeat("\xff", 40_000)+"${2}"), `cannot be read`},
	{"a block more", swap("</body>", `<script type="application/json" id="knownwater-inputs">{}</script></body>`), `holds knownwater-inputs twice`},
	{"something packed beside a file", packedBeside, `cannot be read|packed with something beside it`},
}

func swap(old, now string) func(string) string {
	return func(p string) string { return strings.Replace(p, old, now, 1) }
}

func sub(pattern, now string) func(string) string {
	re := regexp.MustCompile(pattern)
	return func(p string) string {
		at := re.FindStringSubmatchIndex(p)
		if at == nil {
			return p
		}
		return p[:at[0]] + string(re.ExpandString(nil, now, p, at)) + p[at[1]:]
	}
}

// lastDigit changes the last digit of a number of full precision.
func lastDigit(p string) string {
	at := regexp.MustCompile(`"slope":[0-9]\.[0-9]{14,}`).FindStringIndex(p)
	if at == nil {
		return p
	}
	digit := p[at[1]-1]
	return p[:at[1]-1] + string('0'+(digit-'0'+1)%10) + p[at[1]:]
}

// packedBeside puts an empty second member behind a packed file: what is unpacked
// is the same.
func packedBeside(p string) string {
	const empty = "H4sIAAAAAAAA/wEAAP//AAAAAAAAAAA="
	return sub(`("gzip_base64":")([^"=]*)(=*)"`, "${1}${2}"+empty+`"`)(p)
}

// smallReport is a page of two of the demo's methods: with all that a page has,
// and quick to compute again.
func smallReport(t *testing.T, dir string) string {
	t.Helper()
	c := demoCmd{Dir: dir, Seed: 1}
	files, err := c.files()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		text := string(f.data)
		if f.name == demoReadings {
			text = regexp.MustCompile(`(?m)^(Alder|Birch|Cedar).*\n`).ReplaceAllString(text, "")
		}
		put(t, c.at(f.name), text, 0o644)
	}
	ran(t, exitDone, "assess", c.at(demoReadings), "--methods", c.at(demoMethods), "--need", c.at(demoNeed), "--html", c.at(demoReport))
	page, err := os.ReadFile(c.at(demoReport))
	if err != nil {
		t.Fatal(err)
	}
	return string(page)
}

// TestForgeries makes each forgery of a report: every one is named, with
// its row, what stands and what should, and nothing of it steers the terminal.
func TestForgeries(t *testing.T) {
	dir := t.TempDir()
	whole := smallReport(t, dir)
	few := forgeries
	if testing.Short() { // each computes the findings again
		few = nil
		for i, f := range forgeries {
			if i%4 == 0 {
				few = append(few, f)
			}
		}
	}
	for _, f := range few {
		t.Run(f.name, func(t *testing.T) {
			page := f.edit(whole)
			if page == whole {
				t.Fatal("the forgery changes nothing: the page is another than it was made for")
			}
			forged := filepath.Join(dir, "forged.html")
			put(t, forged, page, 0o644)
			said := ran(t, exitRefused, "recheck", forged)
			if !regexp.MustCompile(`forged\.html:(\d+: )?.*(` + f.names + `)`).MatchString(said) {
				t.Errorf("recheck says\n%s\nwanted %s", said, f.names)
			}
			if strings.Contains(said, "stands: computed again") || strings.ContainsAny(said, "\x1b\r") || !utf8.ValidString(said) {
				t.Errorf("recheck says %q", said)
			}
		})
	}
}

// pageOfFew is the report of a few readings, in a folder of its own.
func pageOfFew(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	put(t, filepath.Join(dir, "readings.csv"), fewReadings, 0o644)
	page := filepath.Join(dir, "report.html")
	ran(t, exitDone, "assess", filepath.Join(dir, "readings.csv"), "--html", page)
	return page
}

// TestRecheckOfAnotherVersion: numbers are compared, the page is called unchecked.
func TestRecheckOfAnotherVersion(t *testing.T) {
	page := pageOfFew(t)
	if said := ran(t, exitDone, "recheck", page); !strings.Contains(said, "The page stands") {
		t.Error(said)
	}
	now := version
	version = "9.7"
	defer func() { version = now }()
	said := ran(t, exitRefused, "recheck", page)
	for _, want := range []string{"made by version " + now + ", this is version 9.7", "its numbers agree to 6 digits, the page is unchecked", "knownwater " + now + " can check it"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in %s", want, said)
		}
	}
	if first, _, _ := strings.Cut(strings.TrimSpace(said), "\n"); !strings.Contains(first, "made by version") {
		t.Errorf("why they differ stands behind what differs: %s", said)
	}
	b, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	put(t, page, strings.Replace(string(b), `"version":"`+now+`"`, `"version":""`, 1), 0o644)
	if said := ran(t, exitRefused, "recheck", page); !strings.Contains(said, "made by a version that it does not name") || !strings.Contains(said, "the version that made it can check it") {
		t.Errorf("of a page without a version: %s", said)
	}
}

// TestRecheckOfAnotherMachine: numbers whose last digits differ stand where the page says that it was computed otherwise, and
// then nobody is told that every byte is the same.
func TestRecheckOfAnotherMachine(t *testing.T) {
	page := pageOfFew(t)
	b, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	other := sub(`"computed_with":"[^"]*"`, `"computed_with":"an abacus"`)(string(b))
	digit := lastDigit(other)
	if digit == other {
		t.Fatal("no slope of full precision stands in the page")
	}
	for _, text := range []string{other, digit} {
		put(t, page, text, 0o644)
		said := ran(t, exitDone, "recheck", page)
		if strings.Contains(said, "every byte") || !strings.Contains(said, "all but last digits of numbers is the same") || !strings.Contains(said, "an abacus") {
			t.Errorf("recheck says %s", said)
		}
	}
}

// TestSigned signs reports by two benches: who signed is said, a forged signature
// is named, and a page without one is as good as before.
func TestSigned(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	put(t, at("readings.csv"), fewReadings, 0o644)
	ran(t, exitDone, "assess", at("readings.csv"), "--html", at("page.html"))
	put(t, at("others.csv"), strings.Replace(fewReadings, "5.1", "5.3", 1), 0o644)
	ran(t, exitDone, "assess", at("others.csv"), "--html", at("others.html"))
	for _, b := range []string{"one.db", "two.db"} {
		makeBench(t, at(b))
	}
	print := regexp.MustCompile(`\d{4}(-\d{4}){5}`).FindString(ran(t, exitDone, "sign", at("page.html"), "--bench", at("one.db"), "--out", at("signed.html")))
	ran(t, exitDone, "sign", at("others.html"), "--bench", at("one.db"), "--out", at("more.html"))
	ran(t, exitDone, "sign", at("page.html"), "--bench", at("two.db"), "--out", at("second.html"))
	if info, err := os.Stat(at("one-signing-key.pem")); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key: %v %v", info, err)
	}
	if said := ran(t, exitDone, "key", at("one.db")); print == "" || !strings.Contains(said, print) {
		t.Errorf("the bench's fingerprint is not %q: %s", print, said)
	}
	if said := ran(t, exitDone, "key", at("one.db"), "--export", at("copy.pem")); !strings.Contains(said, "WARNING") {
		t.Errorf("no warning: %s", said)
	}
	if said := ran(t, exitDone, "recheck", at("signed.html"), at("more.html"), at("second.html")); !strings.Contains(said, "more.html is signed by the same bench as signed.html.") ||
		strings.Contains(said, "second.html is signed") || strings.Count(said, print) != 2 {
		t.Errorf("recheck says %s", said)
	}
	if said := ran(t, exitDone, "recheck", at("page.html")); strings.Contains(said, "igned by") {
		t.Errorf("an unsigned page: %s", said)
	}
	read := func(name string) string {
		b, err := os.ReadFile(at(name))
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	signed, second := read("signed.html"), read("second.html")
	line := regexp.MustCompile(`<script type="application/json" id="knownwater-signature">[^\n]*\n`)
	signer := regexp.MustCompile(`"signer":"[^"]*"`)
	for name, c := range map[string]struct{ page, says string }{
		"another page":           {strings.Replace(signed, "<main>", "<main> ", 1), "is not by the bench " + print},
		"another's signature":    {line.ReplaceAllString(signed, line.FindString(second)), "is not by the bench " + print},
		"none any more":          {line.ReplaceAllString(signed, ""), "carries no signature"},
		"another signer":         {signer.ReplaceAllString(signed, signer.FindString(second)), "is not by the bench"},
		"no signer":              {signer.ReplaceAllString(signed, `"signer":""`), "names no bench"},
		"a signature put in":     {strings.Replace(read("page.html"), "</body>", line.FindString(signed)+"</body>", 1), "names no bench"},
		"the line elsewhere":     {strings.Replace(line.ReplaceAllString(signed, ""), "<main>\n", "<main>\n"+line.FindString(signed), 1), "stands in another place"},
		"twice":                  {strings.Replace(signed, "</body>", line.FindString(signed)+"</body>", 1), "cannot be read"},
		"a fingerprint in sight": {strings.Replace(signed, print, "0000-"+print[5:], 1), "is not by the bench"},
	} {
		put(t, at("forged.html"), c.page, 0o644)
		if said := ran(t, exitRefused, "recheck", at("forged.html")); !strings.Contains(said, c.says) {
			t.Errorf("%s: recheck says %s", name, said)
		}
	}
	os.Chmod(at("one-signing-key.pem"), 0o644)
	if said := ran(t, exitRefused, "key", at("one.db")); !strings.Contains(said, "others can read the key") {
		t.Errorf("a key that others read: %s", said)
	}
}
