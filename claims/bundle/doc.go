// Package bundle packs a claim, or a dispute file, as a BagIt 1.0 bag (RFC 8493) in one ZIP file and checks such files. FORMAT.md
// beside this file is the exact description of what is in it.
//
// Use New and Packager.Pack to write a bundle, Verify to check one, VerifyBag to check any BagIt bag. Verify needs no
// store, no server and no network: a stranger can run it, and unzip, sha256sum and openssl can do most of it as well.
//
// The package imports claims, rules, rules/readings, claims/custody and claims/dispute (the siblings it may import: a bundle carries
// what they make and Verify works it out again) and libraries; never a store, media or the server.
package bundle
