package report

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
)

// The folder always exists; the engraver and its notice are in it only where they were installed when
// the program was built ("make engraver").
//
//go:embed all:web/dist
var dist embed.FS

// Engraver is the script that draws MusicXML in the browser, gzipped. The zero value is none.
type Engraver struct {
	packed []byte
	sum    [sha256.Size]byte // of the script
	Notice string            // its name, version and licence
}

// maxEngraver bounds the script, unpacked, in bytes.
const maxEngraver = 64 << 20

// BuiltIn is the engraver that the program was built with, empty where there was none.
var BuiltIn = sync.OnceValue(func() Engraver {
	packed, err := dist.ReadFile("web/dist/engraver.js.gz")
	if err != nil {
		return Engraver{}
	}
	notice, err := dist.ReadFile("web/dist/NOTICE")
	if err != nil {
		return Engraver{}
	}
	e, err := newEngraver(packed)
	if err != nil {
		return Engraver{}
	}
	e.Notice = string(notice)
	return e
})

// ReadEngraver reads an engraver of the user's own, the script itself or gzipped: anybody may put
// another version in the place of the one that was built in.
func ReadEngraver(path string) (Engraver, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return Engraver{}, err
	}
	if !bytes.HasPrefix(b, []byte{0x1f, 0x8b}) {
		var packed bytes.Buffer
		z, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
		if _, err := z.Write(b); err != nil {
			return Engraver{}, err
		}
		if err := z.Close(); err != nil {
			return Engraver{}, err
		}
		b = packed.Bytes()
	}
	e, err := newEngraver(b)
	if err != nil {
		return e, fmt.Errorf("%s: %w; name the script of the engraver, as it is or gzipped", path, err)
	}
	e.Notice = "The engraver in this page was brought along by who made it."
	return e, nil
}

func newEngraver(packed []byte) (Engraver, error) {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return Engraver{}, err
	}
	h := sha256.New()
	n, err := io.Copy(h, io.LimitReader(z, maxEngraver+1))
	switch {
	case err != nil:
		return Engraver{}, err
	case n == 0:
		return Engraver{}, errors.New("it is empty")
	case n > maxEngraver:
		return Engraver{}, errors.New("it is too large")
	}
	return Engraver{packed: packed, sum: [sha256.Size]byte(h.Sum(nil))}, nil
}

// Empty reports whether there is no engraver.
func (e Engraver) Empty() bool { return len(e.packed) == 0 }

// Gzipped is the script, gzipped, for a server to send with Content-Encoding: gzip.
func (e Engraver) Gzipped() []byte { return e.packed }

// hash is the script as a source of a content-security policy.
func (e Engraver) hash() string {
	return "'sha256-" + base64.StdEncoding.EncodeToString(e.sum[:]) + "'"
}
