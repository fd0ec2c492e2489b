package session

import (
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
)

func TestArithmetic(t *testing.T) {
	build := []debug.BuildSetting{{Key: "GOARCH", Value: "amd64"}, {Key: "GOAMD64", Value: "v1"},
		{Key: "GOARM64", Value: "v8.0"}, {Key: "GOPPC64", Value: "power9"}}
	for _, c := range []struct {
		arch  string
		build []debug.BuildSetting
		fused bool
		want  string
	}{
		{"amd64", build, true, "amd64 v1 fma"},
		{"amd64", build, false, "amd64 v1"},
		{"amd64", nil, true, "amd64 fma"},
		{"arm64", build, true, "arm64 v8.0"},
		{"ppc64le", build, true, "ppc64le power9"},
		{"s390x", build, true, "s390x"},
	} {
		if got := arithmetic(c.arch, c.build, c.fused); got != c.want {
			t.Errorf("%s: %q, want %q", c.arch, got, c.want)
		}
	}
	if got := MadeOn(); !strings.HasPrefix(got, runtime.GOARCH) {
		t.Errorf("%q", got)
	}
}
