// Package pdf puts papers of package report on A4 or Letter: embedded typefaces, the patient and the time on every page,
// page x of y, and the same bytes for the same paper.
//
// The files are not tagged for screen readers: no well-kept Go library writes valid tagged PDF. The same paper is on a
// page of the program, which is. What the library can do is done: the language of the words, the title, and a list of the
// headings to go by.
package pdf
