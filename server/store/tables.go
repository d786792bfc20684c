package store

import (
	"encoding/binary"

	"evenpull/sync/ops"
)

// Every table of the store. A table is an ordered map from bytes to bytes; the
// keys below are their parts laid end to end, numbers as 8 bytes, big-endian,
// so that key order is reading order.
const (
	tMeta = "meta" // "version", "server", "epoch", "key" (seed of the token key), "hub-key" (P-256), "ready", "seen"

	// Accounts, as JSON.
	tStudios = "studios" // order 8 → account.Studio
	tPhones  = "phones"  // phone → account.Phone
	tSeats   = "seats"   // studio, phone → account.Seat
	tMembers = "members" // studio, person → account.Member
	tInvites = "invites" // hash of the code → account.Invite
	tDeeds   = "deeds"   // studio, order 8 → account.Deed

	// One studio's copy; every key starts with the studio.
	tHeads   = "heads"    // studio → last seq, whole link there, seq of the last Tick
	tVector  = "vector"   // replica → n, short digest, whole digest where it is known
	tLinks   = "links"    // first seq → linkBlock: the log
	tOps     = "op-runs"  // replica, first n → opBlock, or a short digest
	tRecords = "blocks"   // seq of the last change, kind, 0, id of the first → recordBlock
	tDead    = "dead"     // the same key → which entries of the block stand in a later one
	tKnown   = "known"    // kind, 0, id → what the record knows beyond the vector, as JSON
	tVoids   = "voids"    // dot → merge.Void as JSON
	tVoidLog = "void-log" // seq, dot → nothing
	tPurged  = "purged"   // dot → nothing
	tRevived = "revived"  // field, 0, dot → nothing
	tForks   = "forks"    // seq → merge.Fork as JSON
	tPhotos  = "photos"   // sha256 → what names it and whether it is here, as JSON
	tWanted  = "wanted"   // sha256 of photos that are named and not here → nothing

	// Of a hub.
	tCarried = "carried" // studio → nothing
	tAbove   = "above"   // copy → above: how far the exchange with the upstream is
)

// placesOf names the table that says where each record of a studio is: kind, 0,
// id → seq of the last change. It has a row a record, so its keys are kept short.
func placesOf(studio ops.ID) string { return "places-" + studio.String() }

// inOrder are the tables that grow at the end only: their pages are filled up.
var inOrder = map[string]bool{tLinks: true, tRecords: true}

func key(parts ...[]byte) []byte {
	n := 0
	for _, p := range parts {
		n += len(p)
	}
	b := make([]byte, 0, n)
	for _, p := range parts {
		b = append(b, p...)
	}
	return b
}

func num(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

func dotKey(studio ops.ID, d ops.Dot) []byte { return key(studio[:], d.Replica[:], num(d.N)) }

func recordName(kind string, id ops.ID) []byte { return key([]byte(kind), []byte{0}, id[:]) }

// readDot reads the dot that a key ends with.
func readDot(k []byte) ops.Dot {
	k = k[len(k)-24:]
	return ops.Dot{Replica: ops.ID(k[:16]), N: binary.BigEndian.Uint64(k[16:])}
}
