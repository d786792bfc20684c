package lan

import (
	"errors"
	"fmt"
	"io"
	"net"

	"github.com/pion/logging"
	"github.com/pion/mdns/v2"
	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
)

// Answer answers for the hub's .local names on every network of this machine
// (RFC 6762) until it is closed. It is started anew when the addresses change.
func Answer(names []string) (io.Closer, error) {
	at, err := net.ResolveUDPAddr("udp4", mdns.DefaultAddressIPv4)
	if err != nil {
		return nil, err
	}
	conn, err := net.ListenUDP("udp4", at)
	if err != nil {
		return nil, fmt.Errorf("the names of this hub are not answered (%w): phones open it by its address", err)
	}
	return answer(conn, names)
}

func answer(conn net.PacketConn, names []string, more ...mdns.ServerOption) (io.Closer, error) {
	quiet := &logging.DefaultLoggerFactory{Writer: io.Discard, DefaultLogLevel: logging.LogLevelDisabled} // what strangers send badly is no news
	packets := ipv4.NewPacketConn(conn)
	// Questions that came straight are answered straight, many in one packet by many: with one hop, none of it
	// leaves the hub's own network for whoever a stranger named as the asker.
	err := packets.SetTTL(1)
	var c *mdns.Conn
	if err == nil {
		c, err = mdns.NewServer(packets, nil, append([]mdns.ServerOption{
			mdns.WithLocalNames(names...), mdns.WithRecordTypes(dnsmessage.TypeA), mdns.WithLoggerFactory(quiet), mdns.WithCacheRefresh(false),
		}, more...)...)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the names of this hub are not answered (%w): phones open it by its address", err), conn.Close())
	}
	return c, nil
}
