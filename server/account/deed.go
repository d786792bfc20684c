package account

import "evenpull/sync/ops"

// What somebody did to who may do what. Kept beside the records, because those
// say only how things stand now.
const (
	Brought     = "brought"      // the studio to this server
	CameIn      = "came-in"      // by a code
	Invited     = "invited"      // made a code
	EndedCode   = "ended-code"   //
	EndedPhone  = "ended-phone"  //
	EndedPerson = "ended-person" //
	GaveRole    = "gave-role"    //
	Purged      = "purged"       // took values away for good
)

// A Deed is one such act. It holds no names: those stand in person records only.
type Deed struct {
	AtMS   int64  `json:"at"` // UTC
	By     ops.ID `json:"by"` // a person; zero: the server's own shell
	What   string `json:"what"`
	Person ops.ID `json:"person"` // whom it was done to, zero where nobody
	Phone  ops.ID `json:"phone"`
	Role   Role   `json:"role,omitempty"`
	Kind   string `json:"kind,omitempty"` // of the code, or of the record
}

// Deeds lists what was done in a studio, the newest first. For keepers.
func Deeds(tx Tx, studio, asks ops.ID, most int) ([]Deed, error) {
	if _, err := keeper(tx, studio, asks); err != nil {
		return nil, err
	}
	return tx.Deeds(studio, most), nil
}

// MayPurge returns the keeper who asks, or a fault of kind Denied.
func MayPurge(tx Tx, studio, asks ops.ID) (Member, error) { return keeper(tx, studio, asks) }
