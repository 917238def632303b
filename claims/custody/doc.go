// Package custody is a shop's log of evidence: who wants to know whether an entry was put in, changed or left out
// afterwards finds the answer here, and can check it without us.
//
// The log is a Merkle tree by RFC 6962 over the journal's lines, kept by the stores (claims.Store.LogHashes). This
// package signs checkpoints of it (C2SP tlog-checkpoint: a signed note with the log's origin, size and root), proves
// that an entry is in it and that a later log continues an earlier one, has checkpoints time-stamped by an outside
// authority (RFC 3161, off unless the shop names one), and walks a whole store to see that log, entries and
// originals agree (Check).
//
// What it can and cannot show: an entry that is in a checkpoint cannot be changed, removed or moved without the proof
// failing. But the log is on the shop's own machine. Somebody with the machine and its key could write a new log
// from the start; only a checkpoint that is elsewhere (in a bundle, on a customer's receipt, at a time-stamp authority)
// shows that. So checkpoints should go out often, and Check takes those that came back.
//
// It imports claims only; never a store, a blob store or HTTP handlers. Keys live in one file (Keys).
package custody
