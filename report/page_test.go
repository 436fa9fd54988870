package report

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenhand/references"
	"evenhand/scoring"
)

// hostile are names that must come out as text.
var hostile = []string{
	`<script>alert(1)</script>`,
	`"><img src=x onerror=alert(1)>`,
	`'; alert(1) //`,
	"\u202Egnihton\u202C",
	"שלום",
	"🎹 Mia & Ben",
	`{{.Title}}</title>`,
	"]]>--><!--",
}

func TestHostileTitlesAreText(t *testing.T) {
	for _, name := range hostile {
		var b strings.Builder
		if err := WriteTake(&b, &Take{Asked: name, Pupil: name, Reference: &references.Reference{}, Assessment: &scoring.Assessment{Remarks: []string{name}}}, Engraver{}); err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"<script>alert", "<img src=x", "</title> ·", "]]>--><!--"} {
			if strings.Contains(b.String(), bad) {
				t.Errorf("%q: the page has %q", name, bad)
			}
		}
	}
}

func TestNoPageOfThatName(t *testing.T) {
	if err := (&Page{Name: "../take"}).Write(&strings.Builder{}); err == nil {
		t.Error("a page of any name was written")
	}
}

func TestWithoutABrowserThereIsNoPDF(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	if _, err := PDF(t.Context(), []byte("<p>page"), A4); !errors.Is(err, ErrNoBrowser) {
		t.Errorf("got %v, want %v", err, ErrNoBrowser)
	}
}

func TestAnAssessmentOfAnotherScoreIsRefused(t *testing.T) {
	take := aScale(t)
	short := *take.Reference
	short.Notes = short.Notes[:5]
	take.Reference = &short
	if err := WriteTake(io.Discard, take, Engraver{}); err == nil {
		t.Error("a page was written about notes that are not there")
	}
}

// The policy of a file lets nothing run but the scripts and the stylesheet whose hashes it has, and
// nothing be fetched.
func TestPolicyOfAFile(t *testing.T) {
	var b strings.Builder
	if err := WriteTake(&b, aScale(t), Engraver{}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	policy := regexp.MustCompile(`http-equiv="Content-Security-Policy" content="([^"]*)"`).FindStringSubmatch(page)
	if policy == nil {
		t.Fatal("there is no policy")
	}
	if strings.Contains(policy[1], "unsafe") || !strings.Contains(policy[1], "default-src 'none'") {
		t.Errorf("the policy is %s", policy[1])
	}
	for _, inline := range regexp.MustCompile(`(?s)<(?:script|style)>(.*?)</(?:script|style)>`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(policy[1], hash([]byte(inline[1]))) {
			t.Errorf("not in the policy: %.60q", inline[1])
		}
	}
	if found := regexp.MustCompile(`(src|href)="(https?:)?//`).FindString(page); found != "" {
		t.Errorf("the page points outside: %s", found)
	}
	if found := regexp.MustCompile(` (style|on\w+)="`).FindString(page); found != "" {
		t.Errorf("the page has %s", found)
	}
}

func TestEngravers(t *testing.T) {
	folder := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	script := file("e.js", "globalThis.verovio = {}")
	plain, err := ReadEngraver(script)
	if err != nil || plain.Empty() {
		t.Fatalf("%v", err)
	}
	if want := hash([]byte("globalThis.verovio = {}")); plain.hash() != want {
		t.Errorf("its hash is %s, want %s", plain.hash(), want)
	}
	packed, err := ReadEngraver(file("e.gz", string(plain.Gzipped())))
	if err != nil || packed.hash() != plain.hash() {
		t.Errorf("gzipped it is another one: %v", err)
	}
	for name, text := range map[string]string{"empty": "", "torn": string(plain.Gzipped()[:20])} {
		if _, err := ReadEngraver(file(name, text)); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A page of three minutes of music is under 4.5 MB with the engraver in it.
func TestSizeOfAPage(t *testing.T) {
	if BuiltIn().Empty() {
		t.Skip("the engraver is not installed (run make engraver): the size of a page with it is not measured")
	}
	take := threeMinutes(t)
	var b strings.Builder
	if err := WriteTake(&b, take, BuiltIn()); err != nil {
		t.Fatal(err)
	}
	last := take.Assessment.Notes[len(take.Assessment.Notes)-1]
	t.Logf("%d notes, %.0f s: %.2f MB", len(take.Reference.Notes), last.Played.Onset, float64(b.Len())/1e6)
	if b.Len() > 4_500_000 {
		t.Errorf("the page has %d bytes", b.Len())
	}
}
