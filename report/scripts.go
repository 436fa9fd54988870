package report

import (
	"io/fs"

	"evenhand/references"
)

// Scripts are all scripts that pages name, by name.
func Scripts() map[string][]byte {
	names, err := fs.Glob(web, "web/*.js")
	if err != nil {
		panic(err) // the pattern is well formed
	}
	out := map[string][]byte{}
	for _, n := range names {
		out[n[len("web/"):]] = asset(n[len("web/"):])
	}
	return out
}

// Engraving is a reference as MusicXML in which every note has an id of our own, and these ids by
// note: notes played again in a repeat have that of the first time. A reference without bars gets some
// of four beats.
func Engraving(ref *references.Reference) (score string, ids []string, err error) {
	e, err := engrave(ref)
	return e.xml, e.ids, err
}
