// Package align finds which expected note each played note is: dynamic time warping of a
// capture.Take onto a references.Reference.
//
// [Align] sees the whole take and is what marks rest on; [Best] tries every accepted reading of a
// request and, where none fits, its likely misreadings; a [Follower] takes one note at a time and
// answers at once, for the screen, and its answers are provisional.
//
// All of it is pure: no clock, no files, no goroutines.
package align
