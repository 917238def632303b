// Package media looks at the bytes of an upload and says what they are: the kind of file, what the camera wrote into it,
// how sharp and how bright it is, a fingerprint to recognise it again; and it makes the two small pictures that people
// look at. Call New once and share the Examiner.
//
// Everything that reads foreign bytes lives here and nowhere else: the decoders, goexif, imaging, HEIC, bar codes. The
// rules of the house for them:
//
//   - The content decides what a file is, never its name or claimed type.
//   - The size a picture claims is checked before a decoder may allocate for it; decodes share one memory budget.
//   - Never image.Decode, imaging.Open or imaging.Decode: they run whatever decoder some package has registered, and
//     imaging panics on its own goroutine, past any recover, for a paletted picture with an index outside its palette. Only
//     the decoders named here run, and imaging gets NRGBA, YCbCr or Gray only.
//   - goexif never sees bytes that were not walked and checked first (see exifblock.go): it has no limits of its own.
//   - A decoder's panic is an error of the file, with a sentence for the person who sent it.
//
// It imports claims (the contract it fulfils) and media/measure. It must never import the stores or the server.
package media
