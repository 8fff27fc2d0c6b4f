// Package browser opens pages in headless Chromium, for tests: what a page
// says on its console, what it asks of the network, how it looks, prints, and
// serves people who cannot see it.
package browser

import (
	"context"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// patience is how long any one step may take: a loaded machine is slow.
const patience = 60 * time.Second

// Path finds Chromium: the one RILLWOOD_CHROMIUM names, or by its usual names.
// Without one the test is skipped, and says so.
func Path(t testing.TB) string {
	t.Helper()
	if p := os.Getenv("RILLWOOD_CHROMIUM"); p != "" {
		return p
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p
		}
	}
	t.Skip("Chromium is missing, so pages are not tested in a browser: run scripts/install test, or name one in RILLWOOD_CHROMIUM")
	return ""
}

// Tab is one page in a browser of its own.
type Tab struct {
	t      testing.TB
	ctx    context.Context
	mu     sync.Mutex
	said   []string      // console messages of warning and above, exceptions
	asked  []string      // addresses asked for, data: and blob: left out
	Loaded time.Duration // from the call to the load event

	started bool
}

// Options of a tab; the zero value is a desktop screen in light colours.
type Options struct {
	W, H      int
	Dark      bool
	NoScripts bool
}

// Open opens a file from disk. The browser ends with the test.
func Open(t testing.TB, file string, o Options) *Tab {
	t.Helper()
	path := Path(t)
	if o.W == 0 {
		o.W, o.H = 1440, 900
	}
	abs, err := filepath.Abs(file)
	if err != nil {
		t.Fatal(err)
	}
	flags := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("hide-scrollbars", true), chromedp.WindowSize(o.W, o.H))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), flags...)
	tab := &Tab{t: t}
	ctx, end := chromedp.NewContext(alloc, chromedp.WithListener(tab.hear))
	t.Cleanup(func() {
		chromedp.Cancel(ctx) // waits for the browser to end
		end()
		stop()
	})
	tab.ctx = ctx
	call(tab, network.Enable, network.EnableParams{})
	call(tab, log.Enable, cdp.Empty{})
	tab.Scheme(o.Dark)
	call(tab, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: o.NoScripts})
	tab.Size(o.W, o.H)
	start := time.Now()
	tab.Do(chromedp.Navigate((&url.URL{Scheme: "file", Path: abs}).String()))
	tab.Loaded = time.Since(start)
	return tab
}

func (b *Tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning || e.Type == runtime.ConsoleAPICalledTypeAssert {
			var parts []string
			for _, a := range e.Args {
				parts = append(parts, string(a.Value)+a.Description)
			}
			b.said = append(b.said, string(e.Type)+": "+strings.Join(parts, " "))
		}
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, "exception: "+details(e.ExceptionDetails))
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			b.said = append(b.said, string(e.Entry.Level)+": "+e.Entry.Text+" "+e.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		if u := e.Request.URL; !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "blob:") {
			b.asked = append(b.asked, u)
		}
	case *page.EventJavascriptDialogOpening:
		b.said = append(b.said, "dialog: "+e.Message)
		go chromedp.Call(b.ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true})
	}
}

// Said lists what the page said of itself: warnings, errors, dialogs.
func (b *Tab) Said() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.said...)
}

// Asked lists every address that was asked for, the file itself first.
func (b *Tab) Asked() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.asked...)
}

// Quiet fails the test when the page said or asked anything but for itself.
func (b *Tab) Quiet() {
	b.t.Helper()
	for _, s := range b.Said() {
		b.t.Errorf("the page says: %s", s)
	}
	if a := b.Asked(); len(a) != 1 {
		b.t.Errorf("the page asked for %q, want itself alone", a)
	}
}

// Do runs actions; an error fails the test.
func (b *Tab) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	for _, s := range steps {
		value(b, s)
	}
}

// value runs an action and gives what it found.
func value[T any](b *Tab, a chromedp.Action[T]) T {
	b.t.Helper()
	ctx, stop := b.patient()
	defer stop()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		b.t.Fatalf("browser: %v", err)
	}
	return v
}

// call sends one command of the browser's protocol.
func call[P, R any](b *Tab, c cdp.Command[P, R], params P) R {
	b.t.Helper()
	ctx, stop := b.patient()
	defer stop()
	r, err := chromedp.Call(ctx, c, params)
	if err != nil {
		b.t.Fatalf("browser: %v", err)
	}
	return r
}

// patient bounds a step. The first one starts the browser, which lives as long
// as its context, so that one is not bounded.
func (b *Tab) patient() (context.Context, context.CancelFunc) {
	if !b.started {
		b.started = true
		return b.ctx, func() {}
	}
	return context.WithTimeout(b.ctx, patience)
}

func details(d *runtime.ExceptionDetails) string {
	if d.Exception != nil {
		return d.Text + " " + d.Exception.Description
	}
	return d.Text
}

// Scheme sets the colours that the reader prefers, dark or light.
func (b *Tab) Scheme(dark bool) {
	b.t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
}

// Size sets the width and height of the window.
func (b *Tab) Size(w, h int) {
	b.t.Helper()
	b.Do(chromedp.EmulateViewport(int64(w), int64(h)))
}

// Click clicks the first element that a selector names.
func (b *Tab) Click(selector string) {
	b.t.Helper()
	b.Do(chromedp.Click(chromedp.CSS(selector)))
}

// ArrowDown is the key, for Key.
const ArrowDown = kb.ArrowDown

// Key presses keys where the focus is.
func (b *Tab) Key(keys string) { b.t.Helper(); b.Do(chromedp.KeyEvent(keys)) }

// Eval evaluates an expression.
func Eval[T any](b *Tab, expression string) T {
	b.t.Helper()
	return value(b, chromedp.Evaluate[T](expression))
}

// Until waits for an expression to become true.
func (b *Tab) Until(expression string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if Eval[bool](b, "!!("+expression+")") {
			return
		}
	}
	b.t.Fatalf("never true on the page: %s", expression)
}

// Screenshot writes what the window shows, or with whole the whole page.
func (b *Tab) Screenshot(path string, whole bool) {
	b.t.Helper()
	shot := chromedp.CaptureScreenshot()
	if whole {
		shot = chromedp.FullScreenshot(100)
	}
	png := value(b, shot)
	if err := os.WriteFile(path, png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// Paper is a size of paper in inches.
type Paper = chromedp.PaperSize

// Usual papers.
var (
	A4     = chromedp.PaperA4
	Letter = chromedp.PaperLetter
)

// Print prints the page to a PDF.
func (b *Tab) Print(path string, paper Paper) {
	b.t.Helper()
	pdf := value(b, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFPrintBackground(), chromedp.PDFPreferCSSPageSize()))
	if err := os.WriteFile(path, pdf, 0o644); err != nil {
		b.t.Fatal(err)
	}
}
