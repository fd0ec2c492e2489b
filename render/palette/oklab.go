package palette

import (
	"image/color"
	"math"
)

// A lab is a colour in OKLab (Ottosson, "A perceptual color space for image
// processing", 2020): lightness 0 to 1, a green to red, b blue to yellow.
type lab struct{ l, a, b float64 }

// A linear is a colour in the linear light of sRGB (IEC 61966-2-1), each
// primary 0 to 1 when a screen can show it.
type linear struct{ r, g, b float64 }

// polar is the colour of a lightness, a chroma and a hue in degrees: OKLCh.
func polar(lightness, chroma, hue float64) lab {
	sin, cos := math.Sincos(hue * math.Pi / 180)
	return lab{lightness, chroma * cos, chroma * sin}
}

func (c lab) linear() linear {
	l := cube(c.l + 0.3963377774*c.a + 0.2158037573*c.b)
	m := cube(c.l - 0.1055613458*c.a - 0.0638541728*c.b)
	s := cube(c.l - 0.0894841775*c.a - 1.2914855480*c.b)
	return linear{
		r: 4.0767416621*l - 3.3077115913*m + 0.2309699292*s,
		g: -1.2684380046*l + 2.6097574011*m - 0.3413193965*s,
		b: -0.0041960863*l - 0.7034186147*m + 1.7076147010*s,
	}
}

func cube(x float64) float64 { return x * x * x }

// rgba is the opaque screen colour, cut to what a screen can show.
func (c linear) rgba() color.RGBA {
	return color.RGBA{R: encode(c.r), G: encode(c.g), B: encode(c.b), A: 255}
}

// encode is the transfer function of sRGB, to eight bits.
func encode(x float64) uint8 {
	switch {
	case !(x > 0):
		return 0
	case x >= 1:
		return 255
	case x <= 0.0031308:
		x *= 12.92
	default:
		x = 1.055*math.Pow(x, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * x))
}
