// Package files keeps what a workshop folder holds beside its database: sound
// and pictures, named by their content, and sound that is still growing.
//
// The folder:
//
//	bench.lock                 held by the one program that writes
//	bench.json                 who that is: address and process
//	sound/ab/abcd….flac        named by the SHA-256 of what is in it
//	pictures/ab/abcd….jpg      likewise; as they came, never changed
//	thumbnails/ab/abcd…-320.jpg  smaller copies, which can be made again
//	incoming/ID.flac           sound being kept while it is heard
//	incoming/ID.marks          gaps, positions and what is durable, a JSON line each
//	incoming/put-….part        on its way in; swept when left behind
//
// What a call acknowledged survives a crash of program and machine: content
// is synced before it gets its name, and the name's directory after. What was
// not acknowledged is whole or not there, never half. The tests try that on a
// disk that crashes between any two operations and loses what was not synced.
//
// The package reads no sound and no pictures, and does not know the record:
// which names are referenced is told to it. It never deletes a file with a
// content name by itself.
//
// Sources: that a name is durable only when its directory has been synced is
// from the Linux manual page fsync(2); SHA-256 is FIPS 180-4, by crypto/sha256.
package files
