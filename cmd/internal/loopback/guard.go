package loopback

import (
	"crypto/subtle"
	"net/http"
	"strings"
)

// headers go with every answer: nothing is kept, and no other page may hold,
// frame, read or be told of this one.
var headers = map[string]string{
	"Cache-Control":                "no-store",
	"Content-Security-Policy":      "frame-ancestors 'none'",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Referrer-Policy":              "no-referrer",
	"X-Content-Type-Options":       "nosniff",
}

// guard lets requests through that come by the server's own number and show its
// token. All others are refused in the same words, and have to connect anew.
func (s *Server) guard(h http.Handler, unknown *strangers) http.Handler {
	h = http.StripPrefix(strings.TrimSuffix(s.folder(), "/"), h)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for name, value := range headers {
			w.Header().Set(name, value)
		}
		if !s.admits(r) {
			w.Header().Set("Connection", "close")
			http.NotFound(w, r)
			return
		}
		unknown.forget(connOf(r))
		h.ServeHTTP(w, r)
	})
}

// admits checks the name that the server was called by, and the token, as they
// were sent. A target with a host of its own, which would take the place of the
// header Host, does not begin with the token.
func (s *Server) admits(r *http.Request) bool {
	folder, target := []byte(s.folder()), []byte(r.RequestURI)
	return r.Host == s.host() && len(target) >= len(folder) &&
		subtle.ConstantTimeCompare(target[:len(folder)], folder) == 1
}
