// Package hygiene holds nothing but tests of the project itself: that imports
// point one way, that every package says what it is, that files stay small
// and formatted, that documents and dependencies agree with the code.
package hygiene
