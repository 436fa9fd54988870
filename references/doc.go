// Package references holds what should be played: spelled pitches and keys, the words of a
// request ("B flat major scale, hands together, contrary motion, piano"), the scales, arpeggios and
// exercises it stands for, and their usual fingerings.
//
// Everything here is a plain value. A [Request] is what was asked, in the teacher's terms; a
// [Reference] is one way of playing it, written out note by note. One request may allow several
// references ([Request.Candidates]), and a few more are what a pupil may have played by mistake
// ([Request.Neighbours], out of the [Catalogue] of everything usual).
//
// A score is a Reference too, with its bars, marks and repeats: references/musicxml reads and writes
// MusicXML, and references/smfscore reads a MIDI file as a score.
package references
