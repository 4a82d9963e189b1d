package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"github.com/urfave/cli/v2"

	"forebed/cmd/forebed/internal/web"
)

func serveCommand() *cli.Command {
	return &cli.Command{
		Name:  "serve",
		Usage: "a page on this machine where you paste the report",
		Description: "Serves a page on the loopback address: paste or drop a report, correct what was misunderstood, describe\n" +
			"the rig, get the plan; later open the log of the rig, write down what the meters show, and see what is\n" +
			"left. Nothing leaves this machine, and the program keeps nothing. Stop it with Ctrl-C.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "address", Value: "127.0.0.1:8620", Usage: "`HOST:PORT` to listen on; port 0 takes a free one"},
			&cli.BoolFlag{Name: "beyond-this-machine", Usage: "allow an address that other machines can reach; reports then cross the network in the clear"},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected no argument", c.Args().First())("paste the report into the page, or use forebed plan REPORT")
			}
			return serve(c)
		},
	}
}

func serve(c *cli.Context) error {
	address := c.String("address")
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return usagef("--address: found %q, expected HOST:PORT", address)("use 127.0.0.1:8620")
	}
	ip := net.ParseIP(host)
	loopback := host == "localhost" || ip != nil && ip.IsLoopback()
	if !loopback && !c.Bool("beyond-this-machine") {
		return usagef("--address: found %q, which other machines can reach", address)("use 127.0.0.1:8620, or give --beyond-this-machine if you mean it")
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return usagef("cannot listen on %s: %v", address, err)("choose another port with --address 127.0.0.1:0")
	}
	port := l.Addr().(*net.TCPAddr).Port
	hosts := web.LoopbackHosts(port)
	if !loopback {
		hosts = append(hosts, net.JoinHostPort(host, fmt.Sprint(port)))
		fmt.Fprintf(c.App.ErrWriter, "WARNING: other machines can reach this page, without a password and without encryption.\n"+
			"WARNING: every report pasted into it crosses the network in the clear. Stop it with Ctrl-C.\n")
	}
	shown := host
	if !loopback && ip != nil && ip.IsUnspecified() {
		shown = "localhost"
	}
	fmt.Fprintf(c.App.Writer, "http://%s/\n", net.JoinHostPort(shown, fmt.Sprint(port)))
	fmt.Fprintln(c.App.ErrWriter, "The page is at the address above, on this machine only. Ctrl-C stops it.")
	server := web.Server(web.Handler(func() string { return today().String() }, hosts...))
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-c.Context.Done():
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil && !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
