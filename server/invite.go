package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenpull/server/account"
	"evenpull/server/store"
	"evenpull/sync/ops"
)

const keeperLife = 15 * time.Minute

type inviteConfig struct {
	data, studio string
	keeper, hub  bool
}

func inviteFlags(s settings) *inviteConfig {
	c := &inviteConfig{}
	dataFlag(s, &c.data)
	s.BoolVar(&c.keeper, "keeper", false, "the code lets a keeper in, one phone within 15 minutes")
	s.BoolVar(&c.hub, "hub", false, "the code links one hub, within 15 minutes")
	s.StringVar(&c.studio, "studio", "", "id of the studio, where it is not the first one")
	return c
}

// invite makes a keeper's code when the last keeper's phone is gone. It works
// whether the server runs or not.
func invite(_ context.Context, args []string, e env) error {
	s := newSettings("invite", "evenpull invite makes a code that lets a keeper in, or links a hub.")
	c := inviteFlags(s)
	if _, err := s.parse(args, e); err != nil {
		return shown(err)
	}
	if c.keeper == c.hub {
		return errors.New("say --keeper or --hub; everybody else is invited by a keeper, in the app")
	}
	i := account.Invite{Kind: account.ForPerson, Role: account.Keeper, Most: 1}
	if c.hub {
		i.Kind, i.Role = account.ForHub, account.Hub
	}
	if c.studio != "" {
		id, err := ops.ParseID(c.studio)
		if err != nil {
			return fmt.Errorf("--studio %q is not an id of 32 lower hex digits", c.studio)
		}
		i.Studio = id
	}
	if !store.HoldsStore(c.data) {
		return errNoStore(c.data)
	}
	now := time.Now()
	code := account.NewCode()
	h, err := account.HashCode(code)
	if err != nil {
		return err
	}
	i.Hash, i.MadeMS, i.EndsMS = h, now.UnixMilli(), now.Add(keeperLife).UnixMilli()
	if err := store.LayInvite(c.data, i); err != nil {
		return fmt.Errorf("the code can't be left in %s: %w", c.data, err)
	}
	if c.hub {
		fmt.Fprintf(e.out, "%s\nlinks one hub until %s. On the hub: evenpull --upstream ADDRESS --link CODE\n", code, now.Add(keeperLife).Format("15:04"))
		return nil
	}
	fmt.Fprintf(e.out, "%s\nlets one phone in as keeper until %s. In the app: I have a code.\n", code, now.Add(keeperLife).Format("15:04"))
	return nil
}

func errNoStore(data string) error {
	return fmt.Errorf("%s holds no server's data; name the folder with --data", data)
}
