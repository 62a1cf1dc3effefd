// Package sound reads and writes sound: files and streams in, float32 frames
// out, and nothing about watches.
//
// What is read, told apart by content and never by name:
//
//	kind      how                      notes
//	WAV       here                     8/16/24/32-bit integer, 32/64-bit float,
//	                                   extensible, RF64, unknown length, cut short
//	FLAC      here                     4 to 32 bits
//	MP3       go-mp3                   lossy; encoder delay removed where stated
//	Ogg Opus  pion/opus                lossy; 1 or 2 channels; at 48 000 Hz
//	raw       here                     s16le, s24le, f32le; rate and channels given
//	the rest  ffmpeg, where installed  AAC, Vorbis, WebM, AIFF, video …; never
//	                                   playlists, never the network
//
// Sampling rates from 22 050 Hz to 768 kHz and up to 64 channels are accepted.
//
// Every sample leaves on the 24-bit grid: a float32 that is a whole multiple
// of 2⁻²³ in [−1, 1−2⁻²³]. A 24-bit FLAC written from it replays as the same
// sound, bit for bit. What is not a number becomes 0, what is beyond full
// scale is held there; both are counted and told in [Reader.Warnings].
//
// Memory stays flat: nothing here grows with the length of the sound.
//
// The package does not resample, mix or choose channels.
//
// Sources: RIFF/WAVE as in Microsoft's "Multiple Channel Audio Data and WAVE
// Files" and EBU Tech 3306 (RF64); FLAC is RFC 9639; Ogg is RFC 3533, Opus in
// it RFC 7845 (all from memory; the tests compare with other decoders).
package sound
