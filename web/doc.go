// Package web shows reviews as pages and takes entries from forms. Nothing is computed here: a handler gets
// the case and its review, fills one typed struct of package page and gives back an [Answer], or an error.
//
// routes.go is the one table of everything that can be asked for: who may, what is taken and opened, who answers. Errors
// become pages in [Server.answer] and nowhere else. A handler is one file, noun_verb.go. Every page works without script;
// the small script in static/ only saves steps.
package web
