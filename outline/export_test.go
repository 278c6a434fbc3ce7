package outline

// WithOrientation gives the tests outside the package a JPEG with a camera's notes.
var WithOrientation = withNotes
