// Package scoring says how a take was: it measures evenness, tempo, loudness, touch and the playing
// together of the hands, gathers what was amiss into findings, and makes of them marks and a few
// plain remarks.
//
// [Assess] is pure: an alignment, what was asked and a [Settings] go in, an [Assessment] comes out,
// and the same input gives the same bytes today and in a year. The Assessment is at the same time
// the public JSON contract.
//
// Every measure keeps to what a pupil can be asked for. A fault has a measured value, a limit, the
// unit of both, and the reason for the limit. Where nothing was measured the field is null and never
// 0. Hands and fingers are those of the written part: no key can tell which hand struck it.
//
// A score is judged by what it asks: besides its notes the rhythm within the beat, the tempo bar by
// bar and what is written about it, the dynamics as contrast, hairpins, touch, lengths and pedal where
// they are marked. What belongs together (one cause, one stretch of bars) is one finding. [PieceCharges]
// has the formula of the mark.
//
// Marks are for practice. They are no result of any examination, and a teacher's mark stands above
// them.
package scoring
