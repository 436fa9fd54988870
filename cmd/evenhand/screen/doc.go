// Package screen is what a player sees: a page of manuscript paper on which the notes appear as they
// are struck, and a teacher's pencil that marks them.
//
// A [Lesson] takes what comes from the piano, with its times, and decides what it means: a key tried, a
// take begun or ended, a control struck on the keyboard. What it decides goes as messages to a [Model],
// whose state is a pure function of them: no clock, no files, no goroutines. Wiring is left to the
// command.
package screen
