package house

import (
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

const module = "knownwater"

// listed is what `go list -json` says of a package. Test files may import what
// they like.
type listed struct {
	ImportPath, Dir, Name string
	GoFiles               []string
	Imports, Deps         []string
	Module                *struct{ Path string }
}

func list(t *testing.T, args ...string) []listed {
	t.Helper()
	out, err := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,Name,GoFiles,Imports,Deps,Module"}, args...)...).Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for {
		var p listed
		if err := dec.Decode(&p); err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

// name is a package as the picture calls it: "science/num", "(root)".
func (p listed) name() string {
	if p.ImportPath == module {
		return "(root)"
	}
	return strings.TrimPrefix(p.ImportPath, module+"/")
}

// pure packages: no file, clock, network, log, database.
func (p listed) pure() bool {
	return p.name() == "(root)" || strings.HasPrefix(p.name(), "science/") || p.name() == "chart" || p.name() == "chart/raster"
}

var notPure = []string{"os", "io/fs", "net", "net/http", "log", "log/slog", "database/sql", "context", "embed", "flag", "syscall"}

// rootless packages know no nouns of the bench, so that a statistician or a
// graphics person can review them alone.
var rootless = []string{"science/num", "science/unit", "science/interval", "science/posterior", "science/response", "science/record", "science/inverse", "science/errorpart", "chart", "chart/raster"}

// may says what the packages outside the science may import of each other;
// the root and science/… are open to them. Packages under internal/ are tools
// and tests: they import what they like and nobody imports them.
var may = map[string][]string{
	"cmd/knownwater": append([]string{"web", "web/guard", "report", "bench", "intake", "logged", "demo", "demo/shed", "docs", "wording"}, pages("bench/")...),
	"web":            slices.Concat([]string{"bench", "docs", "report", "wording", "web/form", "web/guard", "web/page", "web/render", "web/start", "web/choices"}, pages("web/"), pages("bench/")),
	"web/start":      {"bench/trials", "intake", "web/form", "web/guard", "web/page", "web/render"},
	"web/guard":      append([]string{"bench", "web/page"}, pages("bench/")...),
	"web/page":       append([]string{"bench", "docs", "web/render", "wording"}, pages("bench/")...),
	"web/render":     append([]string{"bench", "report", "chart", "web/form", "wording"}, pages("bench/")...),
	"web/form":       {"intake", "wording"},
	"report":         {"chart", "chart/raster", "wording"},
	"wording":        {},
	"bench":          append([]string{"bench/store"}, pages("bench/")...),
	"bench/store":    {"sqlite"},
	"intake":         {},
	"logged":         {"intake", "report"},
	"docs":           {},
	"sqlite":         {},
	"demo":           {},
	"demo/shed":      append([]string{"bench", "demo"}, pages("bench/")...),
	"chart":          {},
	"chart/raster":   {},
}

// subjects are what a bench is about. Each has a folder in bench and one in web,
// and knows no other subject: what two of them share is a noun of the root, or
// stands in store, or in page, form, guard and render. Package bench hands a
// subject what it takes from another.
var subjects = []string{"people", "methods", "standards", "trials", "calibrations", "waters", "exchange"}

func pages(folder string) (out []string) {
	for _, s := range subjects {
		out = append(out, folder+s)
	}
	return out
}

func init() {
	for _, name := range pages("web/") {
		may[name] = append([]string{"bench", "report", "intake", "logged", "chart", "web/form", "web/guard", "web/page", "web/render", "wording"}, pages("bench/")...)
	}
	may["web/choices"] = may["web/waters"]
	for _, name := range pages("bench/") { // none of the other subjects
		may[name] = []string{"bench/store", "sqlite"}
	}
}

// Arrows go from the edge to the middle, never back, and never between web and sqlite.
func TestArrows(t *testing.T) {
	for _, p := range list(t, module+"/...") {
		if strings.HasPrefix(p.name(), "internal/") {
			continue
		}
		_, edge := may[p.name()]
		if !edge && !p.pure() {
			t.Errorf("%s has no place in the house: give it one in this test and in docs/architecture.md", p.name())
		}
		for _, path := range p.Imports {
			if path == module || !strings.HasPrefix(path, module+"/") {
				continue
			}
			to := strings.TrimPrefix(path, module+"/")
			switch _, toEdge := may[to]; {
			case !toEdge && strings.HasPrefix(to, "science/"): // everybody may, but see sqlite and chart
				if p.name() == "sqlite" || p.name() == "chart" || p.name() == "chart/raster" {
					t.Errorf("%s imports %s; it knows storage or lines, nothing of the science", p.name(), to)
				}
			case !slices.Contains(may[p.name()], to):
				t.Errorf("%s imports %s", p.name(), to)
			}
		}
	}
}

// science/…, chart and the root import neither an edge nor what reaches outside.
func TestThePureParts(t *testing.T) {
	for _, p := range list(t, module+"/...") {
		if !p.pure() {
			continue
		}
		for _, path := range p.Imports {
			if slices.Contains(notPure, path) {
				t.Errorf("%s imports %s", p.name(), path)
			}
		}
	}
}

// docs/architecture.md and README have a line for every package.
func TestEveryPackageHasItsLine(t *testing.T) {
	drawn, readme := picture(t), text(t, "README.md")
	found := map[string]bool{}
	for _, p := range list(t, module+"/...") {
		last := p.name()[strings.LastIndexByte(p.name(), '/')+1:]
		if p.name() == "(root)" {
			last = module
		}
		if !drawn[last] {
			t.Errorf("docs/architecture.md has no line for %s", p.name())
		}
		found[last] = true
		if p.name() != "(root)" && !strings.HasPrefix(p.name(), "internal/") && !strings.Contains(readme, "`"+p.name()+"`") {
			t.Errorf("README.md has no line for %s", p.name())
		}
	}
	for name := range drawn {
		if !found[name] {
			t.Errorf("docs/architecture.md has a line for %s, which is no package", name)
		}
	}
}

// line is a line of the picture: what is drawn, the names, two spaces, what it is.
var line = regexp.MustCompile(`^[ │├└─]*(?:\(root\) )?(\w+(?:/\w+)*(?:, \w+)*)  +\S`)

// picture are the names of packages that the picture has a line for.
func picture(t *testing.T) map[string]bool {
	t.Helper()
	_, rest, _ := strings.Cut(text(t, "docs/architecture.md"), "```text\n")
	block, _, found := strings.Cut(rest, "```")
	if !found {
		t.Fatal("docs/architecture.md has no picture")
	}
	names := map[string]bool{}
	for _, l := range strings.Split(block, "\n") {
		if m := line.FindStringSubmatch(l); m != nil {
			for _, n := range strings.Split(m[1], ", ") {
				names[n[strings.LastIndexByte(n, '/')+1:]] = true
			}
		}
	}
	return names
}

func text(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWhoKnowsNoNouns(t *testing.T) {
	all := list(t, module+"/...")
	for _, name := range rootless {
		i := slices.IndexFunc(all, func(p listed) bool { return p.name() == name })
		if i < 0 {
			t.Errorf("there is no %s", name)
			continue
		}
		if slices.Contains(all[i].Deps, module) {
			t.Errorf("%s depends on the root", name)
		}
	}
	// The turn knows only intervals and numbers; records and curves come to it.
	knows := []string{module + "/science/interval", module + "/science/num"}
	i := slices.IndexFunc(all, func(p listed) bool { return p.name() == "science/inverse" })
	for _, path := range all[i].Imports {
		if strings.HasPrefix(path, module) && !slices.Contains(knows, path) {
			t.Errorf("science/inverse imports %s", path)
		}
	}
}
