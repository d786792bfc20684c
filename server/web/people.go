package web

import (
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

type namedID struct {
	ID   ops.ID `json:"id"`
	Name string `json:"name"`
}

type joinRequest struct {
	Code   string  `json:"code"`
	Person namedID `json:"person"`
	Phone  struct {
		Key   string `json:"key"`
		Label string `json:"label"`
	} `json:"phone"`
	Hub bool `json:"hub"` // another server comes, as the person of its own id
}

type joinedBody struct {
	Server string       `json:"server"`
	Studio namedID      `json:"studio"`
	Person ops.ID       `json:"person"`
	Phone  ops.ID       `json:"phone"`
	Role   account.Role `json:"role"`
}

func (s *Server) joined(c echo.Context, j account.Joined) error {
	c.Set("studio", j.Studio.ID)
	c.Set("phone", j.Phone)
	return s.writeJSON(c, joinedBody{s.Store.Server(), namedID{j.Studio.ID, j.Studio.Name}, j.Person, j.Phone, j.Role})
}

func (n namedID) check(field string) (namedID, error) {
	if n.ID == (ops.ID{}) {
		return n, fault.New(fault.Invalid, field+".id", "An id is 32 lower hex digits.")
	}
	name, err := account.Name(field+".name", n.Name)
	return namedID{n.ID, name}, err
}

// joiner checks who comes; the person may be left out where the code says who it is.
func (s *Server) joiner(c echo.Context, r joinRequest) (j account.Joiner, err error) {
	person := r.Person
	if person != (namedID{}) {
		if person, err = person.check("person"); err != nil {
			return j, err
		}
	}
	if j.Phone, err = account.ReadKey(r.Phone.Key); err != nil {
		return j, err
	}
	if j.Label, err = account.Name("phone.label", r.Phone.Label); err != nil {
		return j, err
	}
	j.Person, j.Name, j.Loopback, j.Hub = person.ID, person.Name, s.here(c), r.Hub
	j.Hash, err = account.HashCode(r.Code)
	return j, err
}

// claim makes the server somebody's.
func (s *Server) claim(c echo.Context) error {
	var in struct {
		joinRequest
		Studio namedID `json:"studio"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	return s.withCode(c, func() (joined account.Joined, err error) {
		studio, err := in.Studio.check("studio")
		if err != nil {
			return joined, err
		}
		if _, err = in.Person.check("person"); err != nil {
			return joined, err
		}
		j, err := s.joiner(c, in.joinRequest)
		if err != nil {
			return joined, err
		}
		err = s.Store.Accounts(c.Request().Context(), func(tx account.Tx) error {
			joined, err = account.Claim(tx, j, account.Studio{ID: studio.ID, Name: studio.Name}, s.Now())
			return err
		})
		if err == nil && s.Claimed != nil {
			s.Claimed()
		}
		return joined, err
	})
}

// join lets a phone in by a code.
func (s *Server) join(c echo.Context) error {
	var in joinRequest
	if err := readJSON(c, &in); err != nil {
		return err
	}
	return s.withCode(c, func() (joined account.Joined, err error) {
		j, err := s.joiner(c, in)
		if err != nil {
			return joined, err
		}
		err = s.Store.Accounts(c.Request().Context(), func(tx account.Tx) error {
			joined, err = account.Join(tx, j, s.Now())
			return err
		})
		return joined, err
	})
}

const (
	triesAtOnce = 16 // codes that one address may have under way; wrong ones wait in here
	longestHold = 5 * time.Second
)

// withCode tries a code. A right one is answered at once whatever went before;
// a wrong one counts, and its answer waits.
func (s *Server) withCode(c echo.Context, try func() (account.Joined, error)) error {
	from := account.Network(addrOf(c))
	if !s.tries.enter(from, triesAtOnce) {
		return tooMany("code", wrongCodes, time.Second)
	}
	defer s.tries.leave(from)
	joined, err := try()
	if err == nil {
		return s.joined(c, joined)
	}
	if !fault.Is(err, fault.Denied) {
		return err
	}
	if wait := s.waits.Failed(from, s.Now()); wait > 0 {
		if err := s.Hold(min(wait, longestHold)); err != nil {
			return err
		}
		return tooMany("code", wrongCodes, wait)
	}
	return err
}

const wrongCodes = "Too many wrong codes. Wait a moment, then try again."

// addStudio brings another studio to a claimed server.
func (s *Server) addStudio(c echo.Context) error {
	var in struct {
		Studio namedID `json:"studio"`
		Person struct {
			Name string `json:"name"`
		} `json:"person"`
		Label string `json:"label"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	studio, err := in.Studio.check("studio")
	if err != nil {
		return err
	}
	name, err := account.Name("person.name", in.Person.Name)
	if err != nil {
		return err
	}
	label, err := account.Name("label", in.Label)
	if err != nil {
		return err
	}
	var joined account.Joined
	err = s.Store.Accounts(c.Request().Context(), func(tx account.Tx) error {
		joined, err = account.AddStudio(tx, phoneOf(c), account.Studio{ID: studio.ID, Name: studio.Name}, name, label, s.Now())
		return err
	})
	if err != nil {
		return err
	}
	return s.joined(c, joined)
}

// invite makes a code.
func (s *Server) invite(c echo.Context) error {
	var in struct {
		Kind string       `json:"kind"`
		Role account.Role `json:"role"`
		Ends int64        `json:"ends"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	var code string
	var made account.Invite
	err := s.Store.Accounts(c.Request().Context(), func(tx account.Tx) (err error) {
		code, made, err = account.MakeInvite(tx, studioOf(c), phoneOf(c), in.Kind, in.Role, time.UnixMilli(in.Ends), s.Now())
		return err
	})
	if err != nil {
		return err
	}
	return s.writeJSON(c, map[string]any{"code": code, "kind": made.Kind, "role": made.Role, "ends": made.EndsMS})
}

type openInvite struct {
	ID   ops.ID       `json:"id"`
	Kind string       `json:"kind"`
	Role account.Role `json:"role"`
	By   ops.ID       `json:"by"`
	Made int64        `json:"made"`
	Ends int64        `json:"ends"`
	Used int          `json:"used"`
}

// invites lists the codes that still let somebody in, without the codes.
func (s *Server) invites(c echo.Context) error {
	list := []openInvite{}
	err := s.Store.Look(func(tx account.Tx) error {
		open, err := account.OpenInvites(tx, studioOf(c), phoneOf(c), s.Now())
		for _, i := range open {
			list = append(list, openInvite{i.ID, i.Kind, i.Role, i.By, i.MadeMS, i.EndsMS, len(i.Used)})
		}
		return err
	})
	if err != nil {
		return err
	}
	return s.writeJSON(c, map[string]any{"invites": list})
}

const mostDeeds = 200

// deeds says who did what to who may do what.
func (s *Server) deeds(c echo.Context) error {
	list := []account.Deed{}
	err := s.Store.Look(func(tx account.Tx) error {
		deeds, err := account.Deeds(tx, studioOf(c), phoneOf(c), mostDeeds)
		list = append(list, deeds...)
		return err
	})
	if err != nil {
		return err
	}
	return s.writeJSON(c, map[string]any{"deeds": list})
}

const mostWritten = 200 // writes of one record

// history says what was ever written in a record and is still kept.
func (s *Server) history(c echo.Context) error {
	id, err := ops.ParseID(c.Param("id"))
	kind := c.Param("kind")
	if err != nil || !ops.Word(kind, 32, false) {
		return notFound(c)
	}
	values, more, err := s.Store.History(studioOf(c), phoneOf(c), merge.Key{Kind: kind, ID: id}, mostWritten)
	if err != nil {
		return err
	}
	return s.writeJSON(c, map[string]any{"values": append([]replication.Written{}, values...), "more": more})
}

const mostPurged = 50 // records in one call

// purge takes all that was ever written in some records away for good.
func (s *Server) purge(c echo.Context) error {
	var in struct {
		Records []struct {
			Kind string `json:"kind"`
			ID   ops.ID `json:"id"`
		} `json:"records"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	if len(in.Records) == 0 || len(in.Records) > mostPurged {
		return fault.New(fault.Invalid, "records", "Say which records, at most %d at once.", mostPurged)
	}
	records := make([]merge.Key, len(in.Records))
	for i, r := range in.Records {
		if !ops.Word(r.Kind, 32, false) || r.ID == (ops.ID{}) || r.Kind == merge.KindPurge || replication.ServerOnly[r.Kind] && r.Kind != "person" {
			return fault.New(fault.Invalid, "records", "A record is named by kind and id; who may do what, and what was purged, can't be purged.")
		}
		records[i] = merge.Key{Kind: r.Kind, ID: r.ID}
	}
	values, err := s.Store.Purge(c.Request().Context(), studioOf(c), phoneOf(c), records)
	if err != nil {
		return err
	}
	return s.writeJSON(c, map[string]int{"values": values})
}

// end ends a phone's or a person's access, or a code.
func (s *Server) end(c echo.Context) error {
	var in struct {
		Phone  *ops.ID `json:"phone"`
		Person *ops.ID `json:"person"`
		Invite *ops.ID `json:"invite"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	named := 0
	for _, id := range []*ops.ID{in.Phone, in.Person, in.Invite} {
		if id != nil {
			named++
		}
	}
	if named != 1 {
		return fault.New(fault.Invalid, "phone", "Say what ends: a phone's access, a person's or a code.")
	}
	err := s.Store.Urgent(c.Request().Context(), func(tx account.Tx) error {
		if in.Invite != nil {
			return account.EndInvite(tx, studioOf(c), phoneOf(c), *in.Invite, s.Now())
		}
		if in.Phone != nil {
			return account.EndPhone(tx, studioOf(c), phoneOf(c), *in.Phone, s.Now())
		}
		return account.EndPerson(tx, studioOf(c), phoneOf(c), *in.Person, s.Now())
	})
	if err != nil {
		return err
	}
	return noContent(c)
}

// role gives a person another role.
func (s *Server) role(c echo.Context) error {
	var in struct {
		Person ops.ID       `json:"person"`
		Role   account.Role `json:"role"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	err := s.Store.Accounts(c.Request().Context(), func(tx account.Tx) error {
		return account.SetRole(tx, studioOf(c), phoneOf(c), in.Person, in.Role, s.Now())
	})
	if err != nil {
		return err
	}
	return noContent(c)
}
