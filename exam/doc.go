// Package exam is a mock exam as plain values: a Paper drawn from a list of requirements, music made fresh
// to be read at sight, and the MarkSheet made of what was heard and what the teacher says.
//
// Everything in it is a pure function of its inputs: the same list, choices and seed give the same paper,
// and the same paper and evidence the same sheet. Papers and evidence are kept as JSON, so that a sitting
// can be broken off and taken up again.
//
// Marks are for practice. They are no result of any examination, and a teacher's mark stands above them.
package exam
