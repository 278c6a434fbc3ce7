//go:build !js

// Package browser keeps records in a browser's own storage; built for anything else it holds nothing.
package browser
