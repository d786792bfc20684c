package main

import (
	"context"
	"errors"
	"io/fs"

	"evenpull/server/web"
)

// noticesName is where the client's build lays the notices of every shipped part, the server's among them.
const noticesName = "licences.txt"

// licences prints the notices of what this program ships.
func licences(_ context.Context, args []string, e env) error {
	s := newSettings("licences", "evenpull licences prints the notices of every part in this program.")
	if _, err := s.parse(args, e); err != nil {
		return shown(err)
	}
	return printNotices(web.Built(), e)
}

func printNotices(client fs.FS, e env) error {
	text, err := fs.ReadFile(client, noticesName)
	if err != nil {
		return errors.New("this program was built without its client, which brings the notices; build it with: npm run build")
	}
	_, err = e.out.Write(text)
	return err
}
