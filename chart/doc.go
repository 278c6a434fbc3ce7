// Package chart draws what a case's entries and its review tell: the tide chart of a case and the size of a wound.
//
// A chart is a [Drawing] (shapes in user units, so that the same drawing can go to a page or onto paper) and a
// [Table] that holds every number of the drawing in words. Nothing is computed here beyond positions on a plane;
// what is not known is drawn as "not known", never filled in.
package chart
