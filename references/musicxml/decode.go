package musicxml

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"regexp"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// maxBytes bounds a score, compressed or not. The longest piano scores are a few megabytes.
const maxBytes = 64 << 20

// readBounded reads all of r, or fails where it is longer than a score can be.
func readBounded(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxBytes {
		return nil, fmt.Errorf("larger than %d MB: too large for a score", maxBytes>>20)
	}
	return data, nil
}

// decode returns the XML text of a score as UTF-8: unpacked where it is compressed, and converted
// where it is UTF-16 or Latin-1. The second result is what was odd about it, empty for nothing.
func decode(data []byte) ([]byte, string, error) {
	var odd string
	if bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		var err error
		if data, odd, err = unpack(data); err != nil {
			return nil, "", fmt.Errorf("compressed score: %w", err)
		}
	}
	text, oddText := toUTF8(data)
	if odd == "" {
		odd = oddText
	}
	return text, odd, nil
}

// unpack takes the score out of a compressed file (.mxl): a zip archive whose
// META-INF/container.xml names it.
func unpack(data []byte) ([]byte, string, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, "", err
	}
	name, odd := rootfile(z), ""
	if name == "" {
		odd = "the compressed file does not name its score in META-INF/container.xml: its first XML file was read"
		name = firstXML(z)
	}
	if name == "" {
		return nil, "", errors.New("it holds no score")
	}
	text, err := member(z, name)
	if err != nil {
		return nil, "", fmt.Errorf("%q: %w", name, err)
	}
	return text, odd, nil
}

// rootfile is the path of the score that the container names first, or "" where it names none.
func rootfile(z *zip.Reader) string {
	raw, err := member(z, "META-INF/container.xml")
	if err != nil {
		return ""
	}
	text, _ := toUTF8(raw)
	var container struct {
		Rootfiles []struct {
			Path string `xml:"full-path,attr"`
			Type string `xml:"media-type,attr"`
		} `xml:"rootfiles>rootfile"`
	}
	d := xml.NewDecoder(bytes.NewReader(text))
	d.CharsetReader = asIs
	if d.Decode(&container) != nil {
		return ""
	}
	for _, f := range container.Rootfiles {
		if f.Type == "" || strings.Contains(f.Type, "xml") {
			return f.Path
		}
	}
	return ""
}

// firstXML is the first file of an archive that may be a score.
func firstXML(z *zip.Reader) string {
	for _, f := range z.File {
		switch strings.ToLower(path.Ext(f.Name)) {
		case ".xml", ".musicxml":
			if !strings.HasPrefix(f.Name, "META-INF/") {
				return f.Name
			}
		}
	}
	return ""
}

// member unpacks one file of an archive, bounded whatever its header says of its size.
func member(z *zip.Reader, name string) ([]byte, error) {
	for _, f := range z.File {
		if f.Name != name {
			continue
		}
		r, err := f.Open()
		if err != nil {
			return nil, err
		}
		defer r.Close()
		return readBounded(r)
	}
	return nil, errors.New("it is not in the archive")
}

// declared finds the encoding that an XML declaration names (XML 1.0, section 2.8).
var declared = regexp.MustCompile(`^\s*<\?xml[^>]*\sencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)

// toUTF8 converts text by its byte order mark, its first bytes or its declaration (XML 1.0,
// appendix F). Text that claims to be UTF-8 and is not is taken for Latin-1, and said to be odd.
func toUTF8(data []byte) ([]byte, string) {
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		data = data[3:]
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		return fromUTF16(data[2:], binary.BigEndian), ""
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}):
		return fromUTF16(data[2:], binary.LittleEndian), ""
	case bytes.HasPrefix(data, []byte{0, '<', 0}):
		return fromUTF16(data, binary.BigEndian), ""
	case len(data) > 2 && data[0] == '<' && data[1] == 0:
		return fromUTF16(data, binary.LittleEndian), ""
	}
	if m := declared.FindSubmatch(data[:min(len(data), 300)]); m != nil {
		switch strings.ToLower(string(m[1])) {
		case "iso-8859-1", "latin1", "latin-1", "iso_8859-1", "windows-1252", "cp1252":
			return fromLatin1(data), ""
		}
	}
	if !utf8.Valid(data) {
		return fromLatin1(data), "the file is not in the encoding it says: it was read as Latin-1"
	}
	return data, ""
}

func fromUTF16(data []byte, order binary.ByteOrder) []byte {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	return []byte(string(utf16.Decode(units)))
}

func fromLatin1(data []byte) []byte {
	out := make([]byte, 0, len(data)+len(data)/8)
	for _, b := range data {
		out = utf8.AppendRune(out, rune(b))
	}
	return out
}

// asIs is the CharsetReader of text that is UTF-8 already, whatever its declaration says.
func asIs(_ string, in io.Reader) (io.Reader, error) { return in, nil }
