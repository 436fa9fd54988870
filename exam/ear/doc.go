// Package ear makes ear tests: what the examiner says, what is sounded, what the right answer is, and
// how an answer, a tapped beat or a phrase played back is marked.
//
// [Draw] makes an [Item] from a kind, a level and a seed; the same three give the same item on every
// machine. Melodies are composed afresh: four to eight bars in a key, in phrases, closed by a cadence,
// in a range that can be sung. Every item has music of its own.
//
// Melodies and phrases of chords are heard after the chord of their key and one bar of count. Intervals
// and chords stand alone. An interval is never a unison and never wider than an octave. A change is one
// change of pitch or of rhythm, clear to the ear and in style, and never in the first two notes or the
// last. Taps are judged for what they keep up, not for being early or late: people tap before the beat
// without knowing it.
//
// All of it is pure: no clock, no files, no goroutines. Levels run from 0, the first step, to 8. What
// is asked at which level is our own choice, after common practice, and no examination's. Marks are for
// practice.
package ear
