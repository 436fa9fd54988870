// Package musicxml reads a score in MusicXML 4.0 (and earlier versions) as a
// [references.Reference], and writes any Reference as MusicXML.
//
// The format is defined by the W3C Music Notation Community Group,
// https://www.w3.org/2021/06/musicxml40/. Element names stand beside the code that reads them.
//
// A file goes through four steps: bytes to text (decode.go), text to one bar of elements at a time
// (tree.go), elements to notes and signs as written (parse*.go), and bars as written to bars as
// played (hands.go, unfold.go, build.go). Nothing is ever fetched, and sizes are bounded.
package musicxml
