package musicxml

import (
	"errors"
	"io"
)

// Title reads the title of a score and none of its music: that of the Reference which [Read] gives.
func Title(r io.Reader) (string, error) {
	data, err := readBounded(r)
	if err != nil {
		return "", err
	}
	text, _, err := decode(data)
	if err != nil {
		return "", err
	}
	p := &parser{t: newTreeReader(text), score: &score{}}
	if _, err := p.root(); err != nil {
		return "", err
	}
	for {
		start, err := p.t.child()
		if err != nil {
			return "", err
		}
		if start == nil {
			return "", errors.New("the score has no bars")
		}
		switch start.Name.Local {
		case "part", "measure":
			return p.score.title(), nil
		case "work", "movement-title", "credit":
			err = p.header(start)
		default:
			err = p.t.skip()
		}
		if err != nil {
			return "", err
		}
	}
}
