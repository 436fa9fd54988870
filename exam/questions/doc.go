// Package questions asks about a score what an examiner asks at the piano: its key and time, names and
// values of notes, intervals, signs, words, loudness, and how the music is made.
//
// Every question is made from what is printed ([references.Page]) and has its place there. What
// the score does not settle is not asked: the key only where the ending and the leading notes agree,
// a note only where its bar, beat and hand can mean no other, a word only where the [Glossary] has it.
//
// The package is a pure function of its inputs: the same score, level and seed give the same questions.
package questions
