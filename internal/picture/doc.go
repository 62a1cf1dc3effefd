// Package picture looks at pictures of watches and makes the smaller copies
// that are shown.
//
// It tells JPEG, PNG, GIF and WebP apart by content, refuses what it cannot
// show (HEIC too, which phones make) in words that say what to do, and refuses
// pictures made to be costly before it decodes them. Of what is written beside
// the pixels it reads two things, from EXIF: which side is up, and when the
// picture was taken. A copy holds pixels and nothing else, so no place where
// a picture was taken leaves the folder with it. The picture itself is never
// written to.
//
// It keeps nothing and knows no record.
//
// Sources, all from memory: JPEG markers ITU-T T.81 annex B; EXIF is CIPA
// DC-008, its layout TIFF 6.0; PNG and its eXIf chunk W3C PNG third edition;
// WebP's chunks RFC 9649; boxes of HEIC ISO/IEC 14496-12 and 23008-12.
package picture
