package web

import (
	"net/netip"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/ops"
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
	j.Person, j.Name, j.Loopback = person.ID, person.Name, s.here(c)
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

// tries counts codes under way for each address.
type tries struct {
	mu sync.Mutex
	n  map[netip.Addr]int
}

func (t *tries) enter(a netip.Addr, by int) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.n == nil {
		t.n = map[netip.Addr]int{}
	}
	if by > 0 && t.n[a] >= triesAtOnce {
		return false
	}
	if t.n[a] += by; t.n[a] == 0 {
		delete(t.n, a)
	}
	return true
}

// withCode tries a code. A right one is answered at once whatever went before;
// a wrong one counts, and its answer waits.
func (s *Server) withCode(c echo.Context, try func() (account.Joined, error)) error {
	from := addrOf(c)
	if !s.tries.enter(from, 1) {
		return tooMany(time.Second)
	}
	defer s.tries.enter(from, -1)
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
		return tooMany(wait)
	}
	return err
}

func tooMany(after time.Duration) error {
	f := fault.New(fault.TooMany, "code", "Too many wrong codes. Wait a moment, then try again.")
	f.After = after
	return f
}

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
		joined, err = account.AddStudio(tx, phoneOf(c), account.Studio{ID: studio.ID, Name: studio.Name}, name, label)
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

// end ends a phone's or a person's access.
func (s *Server) end(c echo.Context) error {
	var in struct {
		Phone  *ops.ID `json:"phone"`
		Person *ops.ID `json:"person"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	if (in.Phone == nil) == (in.Person == nil) {
		return fault.New(fault.Invalid, "phone", "Say whose access ends: a phone's or a person's.")
	}
	err := s.Store.Urgent(c.Request().Context(), func(tx account.Tx) error {
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
		return account.SetRole(tx, studioOf(c), phoneOf(c), in.Person, in.Role)
	})
	if err != nil {
		return err
	}
	return noContent(c)
}
