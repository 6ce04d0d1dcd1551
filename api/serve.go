package api

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"golang.org/x/net/netutil"
)

// Limits say how long the service waits for clients, and for how many.
type Limits struct {
	Header, Read, Write, Idle time.Duration // to read the header, to read all of a request, to answer it, for the next
	Grace                     time.Duration // to finish what has begun when it stops
	Connections               int
}

// DefaultLimits returns those of the command serve.
func DefaultLimits() Limits {
	return Limits{
		Header: 5 * time.Second, Read: 30 * time.Second, Write: 60 * time.Second, Idle: 60 * time.Second,
		Grace: 10 * time.Second, Connections: 256,
	}
}

// maxHeader is how long the header of a request may be.
const maxHeader = 16 << 10

// Listen listens on a loopback address, "127.0.0.1:8080". It refuses any other:
// whoever reaches the service may read every price.
func Listen(address string) (net.Listener, error) {
	a, err := net.ResolveTCPAddr("tcp", address)
	if err != nil || address == "" { // which would be every address
		return nil, fmt.Errorf("%q is no address to listen on: write one such as 127.0.0.1:8080", address)
	}
	if !a.IP.IsLoopback() {
		return nil, fmt.Errorf("%s can be reached from other machines, and the service asks nobody who they are: write 127.0.0.1:%d", address, a.Port)
	}
	return net.ListenTCP("tcp", a)
}

// Serve answers what comes to l until ctx ends. Then it takes no more, answers
// every request that it has begun to, within the grace, and returns.
func Serve(ctx context.Context, l net.Listener, h http.Handler, limits Limits) error {
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: limits.Header, ReadTimeout: limits.Read, WriteTimeout: limits.Write, IdleTimeout: limits.Idle,
		MaxHeaderBytes: maxHeader,
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(netutil.LimitListener(l, limits.Connections)) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), limits.Grace)
	defer cancel()
	if err := server.Shutdown(grace); err != nil {
		return errors.Join(fmt.Errorf("not everything was answered in %s: %w", limits.Grace, err), server.Close())
	}
	return nil
}
