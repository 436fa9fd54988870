// Package serve shows the journal in a browser: pupils, their weeks and takes, the teacher's week; and
// follows a take while it is played, for a tablet on the music desk.
//
// A Server is for the machine it runs on. To be reached from others it needs a passphrase (see gate): its
// tries are slowed, and who knows it gets a cookie. Against other web sites that a reader's browser has
// open, the name by which the server is called must be known (a foreign name could have been pointed at
// this machine), forms must come from the server's own pages, and no page may be framed or may run
// anything that is written in it. No part of a request names a file.
//
// Pages are remembered as long as the journal does not change (see shelf).
//
// The recorder's growing file says what is asked and what is played; a [Watch] reads it with a follower
// of its own, so that it is the same whichever command records (see live.go). Nothing passes the other
// way.
package serve
