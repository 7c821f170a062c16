package web

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/sqlite"
)

// TestKilledServer kills a server with SIGKILL while three phones send it readings
// over HTTP, a fourth photographs with theirs, and files of readings are brought in,
// again and again. No acknowledged reading or photograph is lost, none is there
// twice, what was brought in is there whole or not at all, the file is whole. A
// life ends after so many readings, whatever the time. KNOWNWATER_KILLS says how
// often; the long run is 200.
func TestKilledServer(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_KILL_SERVER"); path != "" {
		serveUntilKilled(path)
		return
	}
	kills := 20
	if n, err := strconv.Atoi(os.Getenv("KNOWNWATER_KILLS")); err == nil {
		kills = n
	}
	path := filepath.Join(t.TempDir(), "bench.db")
	r := &killed{t: t, path: path, acknowledged: map[string]string{}, brought: map[string]bool{}}
	r.vials = benchToRead(t, path, 25*kills)
	r.phones[3].withPhoto = true
	rng := rand.New(rand.NewPCG(3, uint64(kills)))
	for life := range kills {
		r.live(life, 1+rng.IntN(20))
	}
	if len(r.acknowledged) < kills {
		t.Errorf("only %d readings were acknowledged in %d lives", len(r.acknowledged), kills)
	}
	r.look()
	t.Logf("%d kills, %d readings and %d files acknowledged", kills, len(r.acknowledged), len(r.brought))
}

// benchToRead makes a bench with a sealed trial of one display and enough vials.
func benchToRead(t *testing.T, path string, vials int) []toRead {
	b, err := bench.Open(path, bench.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	h, err := New(b, Options{Listen: "127.0.0.1:0", BaseURL: "http://127.0.0.1"})
	if err != nil {
		t.Fatal(err)
	}
	s := &site{t: t, bench: b, handler: h.Handler(), Client: newBrowser(t)}
	l, stop := listening(t, h.Handler())
	defer stop()
	s.url = l
	s.must("/people", form1("name", "Ines", "role", "reader"))
	s.must("/methods/new", displayForm())
	return s.vialsFor(1, vials)[0]
}

func listening(t *testing.T, h http.Handler) (url string, stop func()) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := &http.Server{Handler: h}
	go srv.Serve(l)
	return "http://" + l.Addr().String(), func() { srv.Close() }
}

func serveUntilKilled(path string) {
	b, err := bench.Open(path, bench.Options{})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	h, err := New(b, Options{Listen: "127.0.0.1:0", BaseURL: "http://127.0.0.1"})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println("http://" + l.Addr().String())
	http.Serve(l, h.Handler())
}

// killed is a bench whose server is killed again and again.
type killed struct {
	t            *testing.T
	path         string
	vials        []toRead
	mu           sync.Mutex
	next         int
	phones       [4]phone
	acknowledged map[string]string // photograph by key of the reading
	brought      map[string]bool   // titles that were acknowledged
}

func (r *killed) vial() toRead {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.next++
	return r.vials[r.next-1]
}

// rowsBroughtIn is how many readings each file holds.
const rowsBroughtIn = 600

func (r *killed) live(life, entries int) {
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilledServer$")
	cmd.Env = append(os.Environ(), "KNOWNWATER_KILL_SERVER="+r.path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		r.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		r.t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if !lines.Scan() || !strings.HasPrefix(lines.Text(), "http://") {
		r.t.Fatalf("life %d: the server said %q", life, lines.Text())
	}
	url := lines.Text()
	var all sync.WaitGroup
	c := newBrowser(r.t)
	defer c.CloseIdleConnections()
	if _, ok := send(c, url+"/me", "application/x-www-form-urlencoded", strings.NewReader("person=1")); !ok {
		r.t.Fatalf("life %d: the server takes nobody", life)
	}
	left := atomic.Int64{}
	left.Store(int64(entries))
	for phone := range r.phones {
		all.Go(func() {
			for r.phones[phone].read(r, c, url) {
				if left.Add(-1) == 0 {
					cmd.Process.Kill()
				}
			}
		})
	}
	all.Go(func() { r.bringIn(c, url, fmt.Sprintf("Brought in %d", life)) })
	all.Wait()
	cmd.Process.Kill() // where no reading was taken any more
	cmd.Wait()
}

// phone holds what it has not heard to be kept, and sends it again.
type phone struct {
	withPhoto bool
	vial      toRead
	photo     string
}

// read sends one reading, and answers whether it was acknowledged.
func (p *phone) read(r *killed, c *http.Client, url string) bool {
	if p.vial.id == 0 {
		p.vial = r.vial()
	}
	if p.withPhoto && p.photo == "" {
		var picture bytes.Buffer
		if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, int(p.vial.id%500)+1, 10))); err != nil {
			r.t.Error(err)
		}
		body, ok := send(c, url+"/photos", "image/png", &picture)
		var a struct{ Name string }
		if !ok || json.Unmarshal(body, &a) != nil {
			return false
		}
		p.photo = a.Name
	}
	key := fmt.Sprintf("killed-%012d", p.vial.id)
	entry := fmt.Sprintf(`{"entries":[{"kind":"keep","reader":1,"key":%q,"vial":%d,"text":"2.1","photo":%q}]}`, key, p.vial.id, p.photo)
	body, ok := send(c, url+p.vial.path, "application/json", strings.NewReader(entry))
	if !ok {
		return false
	}
	if bytes.Contains(body, []byte(`"why"`)) {
		r.t.Errorf("refused: %s", body)
		return false
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.acknowledged[key] = p.photo
	*p = phone{withPhoto: p.withPhoto}
	return true
}

func (r *killed) bringIn(c *http.Client, url, title string) {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, v := range map[string]string{"title": title, "analyte": "nitrate", "unit": "mg/L"} {
		w.WriteField(name, v)
	}
	f, _ := w.CreateFormFile("readings", "readings.csv")
	fmt.Fprint(f, "method,level,reading,vial\n")
	for k := range rowsBroughtIn {
		fmt.Fprintf(f, "Harbour display,%d,%d.%d,v%d\n", k%7, k%7, k%10, k)
	}
	w.Close()
	if _, ok := send(c, url+"/copies/readings", w.FormDataContentType(), &b); ok {
		r.brought[title] = true
	}
}

// send posts as a page does and gives what came back, where it was answered with success.
func send(c *http.Client, url, kind string, body io.Reader) ([]byte, bool) {
	req, err := http.NewRequest("POST", url, body)
	if err != nil {
		return nil, false
	}
	req.Header.Set("Content-Type", kind)
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	res, err := c.Do(req)
	if err != nil {
		return nil, false
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	return b, err == nil && res.StatusCode < 400
}

// look opens the bench a last time and counts.
func (r *killed) look() {
	t, ctx := r.t, context.Background()
	if err := sqlite.Verify(ctx, r.path); err != nil {
		t.Error(err)
	}
	b, err := bench.Open(r.path, bench.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	owner := knownwater.Who{Role: knownwater.Owner}
	list, err := b.Trials(ctx)
	if err != nil {
		t.Fatal(err)
	}
	times, photo, there := map[string]int{}, map[string]string{}, map[string]bool{}
	for _, x := range list {
		there[x.Plan.Title] = true
		if x.Plan.Title == "Load" {
			if _, err := b.OpenKey(ctx, owner, x.ID, "to count"); err != nil {
				t.Fatal(err)
			}
		}
		readings, err := b.Readings(ctx, owner, x.ID, trials.ReadingFilter{All: true, Limit: -1})
		if err != nil || x.Plan.Title != "Load" && len(readings) != rowsBroughtIn {
			t.Errorf("%s: %d readings, error %v", x.Plan.Title, len(readings), err)
		}
		for _, y := range readings {
			times[y.Key]++
			photo[y.Key] = y.Photo
		}
	}
	for key, want := range r.acknowledged {
		if times[key] != 1 || photo[key] != want {
			t.Errorf("%s: there %d times with photograph %q, want %q", key, times[key], photo[key], want)
		}
		if want == "" {
			continue
		}
		if _, _, err := b.Photo(ctx, owner, want); err != nil {
			t.Errorf("%s: its photograph: %v", key, err)
		}
	}
	for title := range r.brought {
		if !there[title] {
			t.Errorf("%s was acknowledged and is not there", title)
		}
	}
}
