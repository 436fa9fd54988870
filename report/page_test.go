package report

import (
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
