// Package browsertest drives the bench in a real browser. It needs Chromium and
// axe-core, which tools/browser-setup.sh installs; without them its tests are
// skipped at a desk and fail on a build server.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// Browser is one running Chromium.
type Browser struct {
	root context.Context
	end  func()
}

// missing ends a test that cannot be run here: loudly where it must be run.
func missing(t *testing.T, what string) {
	t.Helper()
	words := what + " is missing: run tools/browser-setup.sh"
	if os.Getenv("CI") != "" {
		t.Fatal(words)
	}
	t.Skip(words)
}

// shared is the browser of all tests that want no switches of their own.
var shared struct {
	sync.Mutex
	*Browser
}

func startShared() (*Browser, error) {
	shared.Lock()
	defer shared.Unlock()
	if shared.Browser != nil {
		return shared.Browser, nil
	}
	b, err := launch()
	shared.Browser = b
	return b, err
}

var errNoChromium = errors.New("no Chromium")

// Start gives a test the shared browser; with further switches, as name and
// value, one of its own. Each tab has cookies and storage of its own anyway.
func Start(t *testing.T, flags ...string) *Browser {
	t.Helper()
	var b *Browser
	var err error
	if len(flags) == 0 {
		b, err = startShared()
	} else if b, err = launch(flags...); err == nil {
		t.Cleanup(b.end)
	}
	if errors.Is(err, errNoChromium) {
		missing(t, "Chromium")
	}
	if err != nil {
		t.Fatalf("start Chromium: %v", err)
	}
	return b
}

// Main runs a package's tests and ends the shared browser.
func Main(m *testing.M) {
	code := m.Run()
	if b := shared.Browser; b != nil {
		b.end()
	}
	os.Exit(code)
}

func launch(flags ...string) (*Browser, error) {
	path := "" // without windows, and a third less work for the same pages, where there is such a one
	for _, name := range []string{"chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		return nil, errNoChromium
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("hide-scrollbars", true), chromedp.WindowSize(1280, 900))
	for i := 0; i+1 < len(flags); i += 2 {
		opts = append(opts, chromedp.Flag(flags[i], flags[i+1]))
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	root, end := chromedp.NewContext(alloc)
	b := &Browser{root, func() { end(); stop() }}
	if err := chromedp.Do(root); err != nil { // never with a timeout: it would end the browser
		b.end()
		return nil, err
	}
	return b, nil
}

// Page is one tab with cookies and storage of its own, as another phone has.
type Page struct {
	t   *testing.T
	ctx context.Context
	URL string // of the bench

	mu     sync.Mutex
	errors []string // of the console
}

// Size of a screen. A phone has touch and two pixels a point.
type Size struct {
	Width, Height int64
	Phone         bool
}

// The two screens that every page is looked at on.
var (
	Phone = Size{390, 844, true}
	Desk  = Size{1280, 900, false}
)

// stepTime is how long one step may take: minutes, where others use the machine,
// as findings are worked out behind some pages.
const stepTime = 3 * time.Minute

// Open makes a new tab for the bench at url.
func (b *Browser) Open(t *testing.T, url string, size Size) *Page {
	t.Helper()
	ctx, end := chromedp.NewContext(b.root, chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	p := &Page{t: t, ctx: ctx, URL: url}
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("open a tab: %v", err)
	}
	p.listen()
	p.Resize(size)
	return p
}

func (p *Page) listen() {
	messages := chromedp.Console(p.ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.Type == "error" || m.Type == "warning" || m.Type == chromedp.ConsoleException {
				p.mu.Lock()
				p.errors = append(p.errors, fmt.Sprintf("%s: %s", m.Type, m.Text))
				p.mu.Unlock()
			}
		}
	}()
}

// ConsoleErrors are the errors and warnings so far; they are then forgotten.
func (p *Page) ConsoleErrors() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := p.errors
	p.errors = nil
	return out
}

// NoConsoleErrors fails the test if the console said anything bad.
func (p *Page) NoConsoleErrors() {
	p.t.Helper()
	for _, e := range p.ConsoleErrors() {
		p.t.Errorf("console: %s", e)
	}
}

// Resize sets the screen.
func (p *Page) Resize(s Size) {
	p.t.Helper()
	if s.Phone {
		p.Do(chromedp.EmulateViewport(s.Width, s.Height, chromedp.EmulateScale(2), chromedp.EmulateMobile, chromedp.EmulateTouch))
		return
	}
	p.Do(chromedp.EmulateViewport(s.Width, s.Height))
}

// Do takes steps, each in its time.
func (p *Page) Do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	for i, step := range steps {
		ctx, cancel := context.WithTimeout(p.ctx, stepTime)
		err := chromedp.Do(ctx, step)
		cancel()
		if err != nil {
			p.t.Fatalf("step %d: %v\non %s:\n%s", i+1, err, p.Where(), p.seen())
		}
	}
}

// Get runs one action and returns its value.
func Get[T any](p *Page, a chromedp.Action[T]) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, stepTime)
	defer cancel()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		p.t.Fatalf("%v\non %s:\n%s", err, p.Where(), p.seen())
	}
	return v
}

// JS evaluates an expression; a promise is waited for.
func JS[T any](p *Page, expression string) T {
	p.t.Helper()
	return Get(p, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
}

// seen is what stands on the page, for a failed test's message.
func (p *Page) seen() string {
	ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
	defer cancel()
	text, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`(document.querySelector("main") ?? document.body).innerText.slice(0, 1500)`))
	return text
}

// Where is the page's path.
func (p *Page) Where() string {
	ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
	defer cancel()
	at, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`location.pathname + location.search`))
	return at
}

// Go opens a path of the bench.
func (p *Page) Go(path string) {
	p.t.Helper()
	p.Do(chromedp.Navigate(p.URL + path))
}

// Press clicks the first element of a CSS selector and waits for nothing. Where
// the page draws itself anew between finding the element and its place, nothing
// was clicked yet, and it is looked for again.
func (p *Page) Press(css string) {
	p.t.Helper()
	for tries := 1; ; tries++ {
		ctx, cancel := context.WithTimeout(p.ctx, stepTime)
		err := chromedp.Do(ctx, chromedp.Click(chromedp.CSS(css)))
		late := ctx.Err() != nil
		cancel()
		if err == nil {
			return
		}
		if late || tries == 5 {
			p.t.Fatalf("press %s: %v\non %s:\n%s", css, err, p.Where(), p.seen())
		}
	}
}

// PressText clicks the button or link that says text.
func (p *Page) PressText(text string) {
	p.t.Helper()
	p.Until(fmt.Sprintf("a button that says %q", text), fmt.Sprintf(`(() => {
		const el = [...document.querySelectorAll("button, a, summary")].find((b) => b.offsetParent !== null && (b.innerText ?? "").replace(/\s+/g, " ").includes(%q));
		if (!el) return false; el.scrollIntoView({block: "center"}); el.click(); return true; })()`, text))
}

// Follow presses what says text and waits until another page stands there.
func (p *Page) Follow(text string) {
	p.t.Helper()
	p.Do(chromedp.Evaluate[chromedp.Void](`window.before = true`))
	p.PressText(text)
	p.Until("another page after "+text, `window.before === undefined && document.readyState === "complete"`)
}

// Type sets a field's value.
func (p *Page) Type(css, text string) {
	p.t.Helper()
	p.Do(chromedp.SetValue(chromedp.CSS(css), text), chromedp.Evaluate[chromedp.Void](
		fmt.Sprintf(`document.querySelector(%q).dispatchEvent(new Event("input", {bubbles: true}))`, css)))
}

// Until waits for an expression to become true. It asks anew each time, so that
// a page may load in between.
func (p *Page) Until(what, expression string) {
	p.t.Helper()
	end := time.Now().Add(stepTime)
	for {
		ctx, cancel := context.WithTimeout(p.ctx, 10*time.Second)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression))
		cancel()
		if err == nil && ok {
			return
		}
		if time.Now().After(end) {
			p.t.Fatalf("waited in vain for %s (%v)\non %s:\n%s", what, err, p.Where(), p.seen())
		}
		time.Sleep(80 * time.Millisecond)
	}
}

// Text waits until the page says text.
func (p *Page) Text(text string) {
	p.t.Helper()
	p.Until(fmt.Sprintf("the words %q", text), fmt.Sprintf(`document.body.innerText.replace(/\s+/g, " ").includes(%q)`, text))
}

// Dark switches between the dark and the light look.
func (p *Page) Dark(on bool) {
	p.t.Helper()
	value := "light"
	if on {
		value = "dark"
	}
	p.media(emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: value}}})
}

func (p *Page) media(m emulation.SetEmulatedMediaParams) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, m); err != nil {
		p.t.Fatal(err)
	}
}

// Offline drops the connection, or gives it back. Both calls are needed: the
// first alone only changes what the browser says of itself.
func (p *Page) Offline(on bool) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, network.Enable, network.EnableParams{}); err != nil {
		p.t.Fatal(err)
	}
	_, err := chromedp.Call(p.ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: on, DownloadThroughput: -1, UploadThroughput: -1})
	if err == nil {
		_, err = chromedp.Call(p.ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{Offline: on, DownloadThroughput: -1, UploadThroughput: -1}}})
	}
	if err != nil {
		p.t.Fatal(err)
	}
}

// Shot saves a picture of the whole page where KNOWNWATER_SHOTS names a folder.
func (p *Page) Shot(name string) {
	p.t.Helper()
	dir := os.Getenv("KNOWNWATER_SHOTS")
	if dir == "" {
		return
	}
	if JS[float64](p, `document.documentElement.scrollHeight * devicePixelRatio`) > 16000 { // more than a picture can hold
		p.Do(chromedp.EmulateViewport(JS[int64](p, `innerWidth`), JS[int64](p, `innerHeight`)))
	}
	png := Get(p, chromedp.FullScreenshot(100))
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		p.t.Fatal(err)
	}
}

// Shots saves the page on phone and desk, light and dark.
func (p *Page) Shots(name string) {
	p.t.Helper()
	if os.Getenv("KNOWNWATER_SHOTS") == "" {
		return
	}
	for _, size := range []struct {
		name string
		Size
	}{{"390", Phone}, {"1280", Desk}} {
		p.Resize(size.Size)
		for _, dark := range []bool{false, true} {
			p.Dark(dark)
			p.Shot(name + "-" + size.name + map[bool]string{true: "-dark"}[dark])
		}
	}
	p.Dark(false)
}

// PDF prints the page on A4, and saves it where KNOWNWATER_SHOTS names a folder.
func (p *Page) PDF(name string) []byte {
	p.t.Helper()
	pdf := Get(p, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPrintBackground()))
	if dir := os.Getenv("KNOWNWATER_SHOTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o644); err != nil {
			p.t.Fatal(err)
		}
	}
	return pdf
}

// moduleRoot is the folder of go.mod.
func moduleRoot() (string, error) {
	out, err := exec.Command("go", "env", "GOMOD").Output()
	return filepath.Dir(strings.TrimSpace(string(out))), err
}
