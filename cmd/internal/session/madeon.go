package session

import (
	"math"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
)

// MadeOn names what the last digits of numbers depend on, such as "amd64 v1
// fma": the architecture, its level, which says whether the compiler makes one
// step of a product and a sum (on arm64 it always does, on amd64 from v3 on),
// and on amd64 whether the exponential function does. All else is decided when
// the program is built; that function looks at the processor.
var MadeOn = sync.OnceValue(func() string {
	var settings []debug.BuildSetting
	if build, ok := debug.ReadBuildInfo(); ok {
		settings = build.Settings
	}
	return arithmetic(runtime.GOARCH, settings, math.Exp(12.0/7) == fusedExp)
})

// fusedExp is exp(12/7) where products and sums are one step; it is one step of
// the last bit less where they are not.
const fusedExp = 0x1.635f90da7dff5p+02

func arithmetic(arch string, settings []debug.BuildSetting, fused bool) string {
	level := "GO" + strings.ToUpper(strings.TrimSuffix(arch, "le"))
	if i := slices.IndexFunc(settings, func(s debug.BuildSetting) bool { return s.Key == level }); i >= 0 {
		arch += " " + settings[i].Value
	}
	if fused && strings.HasPrefix(arch, "amd64") {
		arch += " fma"
	}
	return arch
}
