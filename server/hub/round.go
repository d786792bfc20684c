package hub

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// refusedNow is an answer in which the upstream took nothing, for a reason that may pass.
type refusedNow struct{ reason string }

func (r *refusedNow) Error() string { return "refused for now: " + r.reason }

// mostAgain is how often in a row an upstream may ask for the same anew.
const mostAgain = 20

// round exchanges until neither side has anything new: who may do what first,
// then the book, then photos.
func (h *Hub) round(ctx context.Context, studio ops.ID) error {
	if _, err := h.exchange(ctx, studio, true); err != nil {
		return err
	}
	wanted, err := h.exchange(ctx, studio, false)
	if err != nil {
		return err
	}
	if err := h.bringUp(ctx, studio, wanted); err != nil {
		return err
	}
	return h.bringDown(ctx, studio)
}

// exchange asks until nothing is left, and returns the photos that the upstream wants.
func (h *Hub) exchange(ctx context.Context, studio ops.ID, roll bool) (wanted []string, err error) {
	path := of(studio, "exchange")
	if roll {
		path = of(studio, "roll")
	}
	for again := 0; ; {
		req, err := h.Store.NextUp(studio, roll)
		if err != nil {
			return nil, err
		}
		a := &replication.Answer{}
		if err := h.ask(ctx, func(header http.Header) error { return h.json(ctx, path, req, a, header) }); err != nil {
			return nil, err
		}
		more, err := h.Store.TakeUp(ctx, studio, roll, req, a)
		if err != nil {
			return nil, err
		}
		asked := false
		for _, r := range a.Refused {
			switch {
			case r.ForGood:
			case r.Reason == replication.Forked, r.Reason == replication.Again:
				asked = true
			default:
				return nil, &refusedNow{r.Reason}
			}
		}
		if again++; !asked && a.Wrong == "" {
			again = 0
		}
		switch {
		case again > mostAgain:
			return nil, &refusedNow{"it asks for the same again and again"}
		case !more:
			return a.PhotosWanted, nil
		}
	}
}

func of(studio ops.ID, what string) string { return "/v1/studios/" + studio.String() + "/" + what }

// ask makes a call with a token, and once more with a fresh one where it had ended.
func (h *Hub) ask(ctx context.Context, with func(http.Header) error) error {
	for fresh := false; ; fresh = true {
		header, err := h.signed(ctx)
		if err != nil {
			return err
		}
		err = with(header)
		var r *refusal
		if !errors.As(err, &r) || r.status != http.StatusUnauthorized {
			return err
		}
		if h.forgetToken(); fresh {
			return err
		}
	}
}

func (h *Hub) photo(ctx context.Context, method string, studio ops.ID, sha string, body []byte, header http.Header) (a answered, err error) {
	err = h.ask(ctx, func(signed http.Header) error {
		for name, values := range header {
			signed[name] = values
		}
		if a, err = h.call(ctx, method, of(studio, "photos/"+sha), body, signed); err != nil {
			return err
		}
		if a.status == http.StatusNotFound {
			return nil // no trouble: it is not there yet
		}
		return a.fine()
	})
	return a, err
}

// bringUp sends photos that the upstream wants and this server has, going on where a line was cut.
func (h *Hub) bringUp(ctx context.Context, studio ops.ID, wanted []string) error {
	for _, sha := range wanted {
		d, ok := digest(sha)
		if !ok {
			return errStrange
		}
		raw, err := h.Store.OwnPhoto(studio, d)
		if err != nil {
			return err
		}
		if raw == nil {
			continue
		}
		there, err := h.photo(ctx, http.MethodHead, studio, sha, nil, nil)
		if err != nil {
			return err
		}
		if there.status != http.StatusNotFound {
			continue
		}
		at, _ := strconv.Atoi(there.header.Get("Photo-Have")) // none: from the beginning
		if at < 0 || at >= len(raw) {
			at = 0
		}
		piece := http.Header{"Content-Range": {fmt.Sprintf("bytes %d-%d/%d", at, len(raw)-1, len(raw))}}
		if _, err := h.photo(ctx, http.MethodPut, studio, sha, raw[at:], piece); err != nil {
			return err
		}
	}
	return nil
}

const mostPhotos = 1000 // looked for in one round

// bringDown fetches photos that records here name.
func (h *Hub) bringDown(ctx context.Context, studio ops.ID) error {
	wanted, err := h.Store.WantedPhotos(studio, mostPhotos)
	if err != nil {
		return err
	}
	for _, sha := range wanted {
		d, ok := digest(sha)
		if !ok {
			continue
		}
		a, err := h.photo(ctx, http.MethodGet, studio, sha, nil, nil)
		if err != nil {
			return err
		}
		if a.status == http.StatusNotFound {
			continue
		}
		if err := h.Store.BringPhoto(ctx, studio, d, a.body); err != nil {
			return err
		}
	}
	return nil
}

func digest(sha string) (d ops.Digest, ok bool) {
	ok = d.UnmarshalText([]byte(sha)) == nil
	return d, ok
}

// deaf is how long a stream may say nothing: it has a beat each 25 seconds.
const deaf = time.Minute

// listen pokes when the upstream has news, as long as ctx lasts.
func (h *Hub) listen(ctx context.Context, studio ops.ID, poke chan<- struct{}) {
	for ctx.Err() == nil {
		_ = h.ask(ctx, func(header http.Header) error { return h.stream(ctx, studio, header, poke) }) // a round tells of trouble
		pause(ctx, h.Soonest)
	}
}

func (h *Hub) stream(ctx context.Context, studio ops.ID, header http.Header, poke chan<- struct{}) error {
	ctx, done := context.WithCancel(ctx)
	defer done()
	watch := time.AfterFunc(deaf, done)
	defer watch.Stop()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, h.Upstream+of(studio, "events"), nil)
	if err != nil {
		return err
	}
	req.Header = header
	resp, err := h.http.Do(req)
	if err != nil {
		return silent(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		raw, _ := io.ReadAll(io.LimitReader(resp.Body, 4<<10))
		return answered{resp.StatusCode, resp.Header, raw}.fine()
	}
	lines := bufio.NewScanner(resp.Body)
	for lines.Scan() {
		watch.Reset(deaf)
		if !bytes.Contains(lines.Bytes(), []byte(`"upTo"`)) {
			continue
		}
		select {
		case poke <- struct{}{}:
		default: // a round is due already
		}
	}
	return lines.Err()
}
