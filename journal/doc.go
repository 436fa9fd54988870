// Package journal keeps what pupils played: every take with what was asked, how it was marked, and
// by which version of the program; and tells from it how the playing changes over weeks, what to
// practise next, and what a teacher should listen for.
//
// A Journal is one database: a SQLite file for a home, a PostgreSQL database for a school. Both
// speak the same SQL here; what differs between them is in an engine. A take is stored with its
// assessment and its measures in one transaction.
//
// Progress, plans and the week's review are worked out by pure functions from rows of measures, so
// that the same journal always tells the same.
//
// Names and notes of people are data: they are bound to statements, never written into them, and may
// hold anything but the NUL character, which PostgreSQL cannot store in a text and which is taken out.
package journal
