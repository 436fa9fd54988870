// Package report makes pages to look at, print and take to the lesson.
//
// A Page is a frame of paper round the content of one template in web/pages. It is written in one of
// two ways: as one file that holds its stylesheet, scripts, data and engraver and opens anywhere
// without a network, or, with Links, as a page of a server that has these at addresses of their own.
// Both run under a content-security policy without inline script or style but the ones whose hashes
// it names; text from people only ever passes through html/template.
//
// To add a page: a template "content" in web/pages/NAME.html, its data, and a Page with that Name.
// The stylesheet has the looks all pages share (see the head of web/style.css): write no second one.
//
// A take is shown as its score, engraved in the browser by the engraver of Engraver, and over it what
// a teacher's pencil writes (Marks); below it are its Curves. The page is complete without the
// engraver too, and then says how to get it: marks are listed in words beside the score in any case.
package report
