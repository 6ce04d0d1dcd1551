package api

import (
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"regexp"
	"strings"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
)

// identified gives every request an id, which its answer and its line in the log
// bear: the client's own if it is a plain word.
func (s *service) identified() echo.MiddlewareFunc {
	plain := regexp.MustCompile(`^[A-Za-z0-9._-]{1,64}$`)
	named := middleware.RequestID()
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		next = named(next)
		return func(c echo.Context) error {
			if h := c.Request().Header; !plain.MatchString(h.Get(echo.HeaderXRequestID)) {
				h.Del(echo.HeaderXRequestID)
			}
			return next(c)
		}
	}
}

// logged writes a line for every request when it has been answered: no body, no
// query, no header.
func (s *service) logged() echo.MiddlewareFunc {
	return middleware.RequestLoggerWithConfig(middleware.RequestLoggerConfig{
		HandleError: true, // so that the status is that of the problem
		LogMethod:   true, LogURIPath: true, LogStatus: true, LogLatency: true, LogError: true, LogResponseSize: true, LogRequestID: true,
		LogValuesFunc: func(c echo.Context, v middleware.RequestLoggerValues) error {
			level, why := slog.LevelInfo, []any{}
			if v.Status >= http.StatusInternalServerError {
				level, why = slog.LevelError, []any{"error", v.Error}
			}
			s.Log.Log(c.Request().Context(), level, "request", append([]any{
				"id", v.RequestID, "method", v.Method, "path", v.URIPath, "status", v.Status, "bytes", v.ResponseSize, "took", v.Latency}, why...)...)
			return nil
		},
	})
}

// recovered makes a panic an internal problem, with the stack in the log.
func (s *service) recovered() echo.MiddlewareFunc {
	return middleware.RecoverWithConfig(middleware.RecoverConfig{
		DisableErrorHandler: true, // logged handles it
		LogErrorFunc: func(c echo.Context, err error, stack []byte) error {
			s.Log.Error("panic", "id", c.Response().Header().Get(echo.HeaderXRequestID), "error", err, "stack", string(stack))
			return fmt.Errorf("panic: %w", err)
		},
	})
}

// guarded refuses what a page of another site makes a browser send, and says how
// answers are to be used.
func guarded(next echo.HandlerFunc) echo.HandlerFunc {
	origin := http.NewCrossOriginProtection()
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if !ownHost(c.Request().Host) {
			return refuse(foreign, "the header Host names another machine")
		}
		asked := *c.Request()
		if asked.Header.Get("Origin") != "" { // a script asks, which may read no more than it may send
			asked.Method = http.MethodPost
		}
		if origin.Check(&asked) != nil {
			return refuse(foreign, "the request comes from a page of another site")
		}
		return next(c)
	}
}

// ownHost reports whether a Host header names this machine by a loopback address
// or by localhost. A page of another site whose name leads here has its own.
func ownHost(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return err == nil && ip.IsLoopback()
}
