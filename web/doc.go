// Package web shows reviews as pages and takes entries from forms. Nothing is computed here: a handler reads the
// request, asks the caseload for a case and its review, fills one typed struct of package page and renders it.
//
// routes.go is the one table of everything that can be asked for. A handler is one file, noun_verb.go. Every
// page works without script; the small script in static/ only saves steps.
package web
