package report

import "io/fs"

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
