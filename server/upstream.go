package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"

	"evenpull/server/hub"
	"evenpull/server/store"
	"evenpull/server/web"
)

// above makes this server a hub of the one above it; nil where there is none.
func above(ctx context.Context, c *serveConfig, st *store.Store, log *slog.Logger, out io.Writer) (*hub.Hub, error) {
	carried, err := st.Carried()
	if err != nil {
		return nil, err
	}
	if c.upstream == "" {
		if len(carried) > 0 {
			fmt.Fprintln(out, "This hub was started without --upstream: what comes in stays here until it is started with it.")
		}
		return nil, nil
	}
	h := hub.New(hub.Config{Upstream: c.upstream, Store: st, Label: "Hub", Log: log})
	if c.link != "" {
		name, err := h.Join(ctx, c.link)
		switch {
		case err == nil:
			fmt.Fprintf(out, "This server is a hub now and carries the studio %q.\n", name)
		case len(carried) == 0:
			return nil, fmt.Errorf("this server was not linked to %s: %w", c.upstream, err)
		default: // the code of an earlier start stands in the settings still
			log.Warn("the link code was not taken; the hub goes on with what it carries", "err", err.Error())
		}
	} else if len(carried) == 0 {
		return nil, fmt.Errorf("this server is not linked to %s yet; a keeper there makes a code for a hub (evenpull invite --hub): start once with --link CODE", c.upstream)
	}
	return h, nil
}

// standing is how the hub stands, for the health page.
func standing(h *hub.Hub) func() web.Upstream {
	return func() web.Upstream {
		heard, trouble := h.Standing()
		u := web.Upstream{Trouble: trouble}
		if !heard.IsZero() {
			u.HeardMS = heard.UnixMilli()
		}
		return u
	}
}
