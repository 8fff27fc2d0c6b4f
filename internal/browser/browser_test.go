package browser_test

import (
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rillwood/internal/browser"
)

// heard is a test that keeps what it is told instead of failing.
type heard struct {
	testing.TB
	errors []string
}

func (h *heard) Helper() {}
func (h *heard) Errorf(format string, args ...any) {
	h.errors = append(h.errors, fmt.Sprintf(format, args...))
}

func written(t *testing.T, body string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page #1.html") // a name that addresses must escape
	text := `<!doctype html><html lang="en"><meta charset="utf-8"><title>A page</title><link rel="icon" href="data:,">` + body
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// A page without fault passes, in both schemes of colour and at any width.
func TestGoodPagePasses(t *testing.T) {
	h := &heard{TB: t}
	b := browser.Open(h, written(t, `<style>body{color:#111;background:#fff}@media(prefers-color-scheme:dark){body{color:#eee;background:#111}}</style>
<main><h1>Good</h1><button id="b" onclick="document.getElementById('n').textContent++">Count</button> <span id="n">0</span><input id="i" aria-label="words"></main>
<script>console.log("only words")</script>`), browser.Options{W: 412, H: 700, Dark: true})
	if dark := browser.Eval[bool](b, `matchMedia("(prefers-color-scheme: dark)").matches`); !dark {
		t.Error("dark was asked for, light is shown")
	}
	if w := browser.Eval[int](b, "innerWidth"); w != 412 {
		t.Errorf("the window is %d wide, want 412", w)
	}
	b.Click("#b")
	b.Click("#b")
	b.Until(`document.getElementById("n").textContent === "2"`)
	b.Click("#i")
	b.Key("elm")
	if got := browser.Eval[string](b, `document.getElementById("i").value`); got != "elm" {
		t.Errorf("typed elm, the page has %q", got)
	}
	b.Scheme(false)
	if got := browser.Eval[string](b, `getComputedStyle(document.body).backgroundColor`); got != "rgb(255, 255, 255)" {
		t.Errorf("in light colours the page is %s", got)
	}
	b.Size(700, 500)
	if w := browser.Eval[int](b, "innerWidth"); w != 700 {
		t.Errorf("the window is %d wide, want 700", w)
	}
	b.Accessible()
	b.Quiet()
	for _, e := range h.errors {
		t.Error(e)
	}
}

// Each fault of a page is told: a judge that passes everything is none.
func TestFaultsAreTold(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"other.js": "1", "other.png": "no picture"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	h := &heard{TB: t}
	b := browser.Open(h, written(t, `<main><h1>Bad</h1>
<img src="file://`+dir+`/other.png"><p style="color:#ccc;background:#fff">pale</p><input>
<script src="file://`+dir+`/other.js"></script>
<script>console.warn("a warning", 7); console.error("an error"); alert("a dialog"); setTimeout(() => { throw new Error("an exception") }, 0); setTimeout(() => { window.done = true }, 50);
fetch("http://127.0.0.1:1/nowhere").catch(() => 0)</script></main>`), browser.Options{})
	b.Until("window.done")
	b.Quiet()
	b.Accessible()
	all := strings.Join(h.errors, "\n")
	for _, want := range []string{"a warning", "an error", "dialog: a dialog", "an exception", "other.png", "other.js", "127.0.0.1:1/nowhere", "image-alt (critical)", "color-contrast (serious)", "label (critical)"} {
		if !strings.Contains(all, want) {
			t.Errorf("nothing is said of %q in:\n%s", want, all)
		}
	}
}

// Scripts stay off when told so; pictures and prints are what they should be.
func TestWithoutScriptsAndOnPaper(t *testing.T) {
	b := browser.Open(t, written(t, `<style>@page{margin:1cm} div{break-after:page;height:3cm}</style><main><noscript><h1 id="none">Without</h1></noscript><div>one</div><div>two</div><p>three</p></main>
<script>console.error("scripts run")</script>`), browser.Options{W: 500, H: 400, NoScripts: true})
	b.Quiet()
	shot := filepath.Join(t.TempDir(), "shot.png")
	b.Screenshot(shot, false)
	f, err := os.Open(shot)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.DecodeConfig(f)
	if err != nil || img.Width != 500 || img.Height != 400 {
		t.Errorf("the picture is %d × %d (%v), want 500 × 400", img.Width, img.Height, err)
	}
	pdf := filepath.Join(t.TempDir(), "page.pdf")
	for _, c := range []struct {
		paper browser.Paper
		size  string
	}{{browser.A4, "pts (A4)"}, {browser.Letter, "pts (letter)"}} {
		b.Print(pdf, c.paper)
		out, err := exec.Command("pdfinfo", pdf).Output()
		if err != nil {
			t.Skipf("pdfinfo is missing or fails (%v): run scripts/install test", err)
		}
		if !regexp.MustCompile(`(?m)^Pages:\s+3$`).Match(out) || !strings.Contains(string(out), c.size) {
			t.Errorf("want 3 pages of %s:\n%s", c.size, out)
		}
	}
}

// When the test ends its browser has ended too, with all its processes.
func TestNothingIsLeft(t *testing.T) {
	if _, err := os.Stat("/proc/self/stat"); err != nil {
		t.Skip("no /proc here to count processes in")
	}
	browser.Path(t)
	var during []string
	var scratch string
	t.Run("open", func(t *testing.T) {
		file := written(t, "<h1>Here</h1>")
		scratch = filepath.Dir(filepath.Dir(file)) // the test's own, the browser's folder is in it too
		browser.Open(t, file, browser.Options{})
		during = processes(t, scratch)
	})
	if len(during) < 2 {
		t.Errorf("only %q was seen of the browser while it ran, so nothing could be missed", during)
	}
	if after := processes(t, scratch); len(after) > 0 {
		t.Errorf("processes are left: %q", after)
	}
	if _, err := os.Stat(scratch); err == nil {
		t.Errorf("%s is left", scratch)
	}
}

// processes lists those that this one started, also when they have ended but
// were not waited for, and all that were started with a folder in their words.
func processes(t *testing.T, folder string) (out []string) {
	t.Helper()
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range stats {
		text, err := os.ReadFile(s)
		if err != nil {
			continue // it has ended meanwhile
		}
		words, _ := os.ReadFile(filepath.Join(filepath.Dir(s), "cmdline"))
		_, rest, _ := strings.Cut(string(text), ") ")
		f := strings.Fields(rest)
		if len(f) > 1 && f[1] == strconv.Itoa(os.Getpid()) || strings.Contains(string(words), folder) {
			out = append(out, string(text[:min(40, len(text))]))
		}
	}
	slices.Sort(out)
	return out
}

// Without Chromium tests are skipped; a wrong name in the environment is said.
func TestWithoutChromium(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	t.Setenv("RILLWOOD_CHROMIUM", "")
	skipped := t.Run("none", func(t *testing.T) {
		browser.Path(t)
		t.Error("not skipped")
	})
	if !skipped {
		t.Error("a missing browser fails tests")
	}
	t.Setenv("RILLWOOD_CHROMIUM", "/usr/bin/env")
	if p := browser.Path(t); p != "/usr/bin/env" {
		t.Errorf("RILLWOOD_CHROMIUM is passed over for %q", p)
	}
}
