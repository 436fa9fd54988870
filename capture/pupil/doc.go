// Package pupil is a simulated pupil: it plays any reference with the faults it is told to make, and
// tells exactly what it did.
//
// [Play] turns a [references.Reference] and a [Pupil] into a take and its [Truth]: for every expected
// note what became of it, for every struck key why it was struck. All of it comes from the seed, so
// the same pupil plays the same take to the last tick. [Messages] and [Perform] send a take as a
// piano would, at once or in real time; [Draw], [Cases] and [PieceCases] make up pupils whose faults a listener
// would name without doubt.
//
// Of a score the pupil plays what is written: tempos and their changes, fermatas, dynamics and hairpins,
// accents, touch, pedal, grace notes, ornaments and rolled chords in one of the usual ways, repeats; and,
// told to, gets each of them wrong.
//
// The pupil is made after how people play, from the published figures named beside each number and
// from common practice, and knows nothing of how takes are judged.
package pupil
