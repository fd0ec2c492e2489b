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

func (c lab) chroma() float64 { return math.Hypot(c.a, c.b) }

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

func (c linear) lab() lab {
	l := math.Cbrt(0.4122214708*c.r + 0.5363325363*c.g + 0.0514459929*c.b)
	m := math.Cbrt(0.2119034982*c.r + 0.6806995451*c.g + 0.1073969566*c.b)
	s := math.Cbrt(0.0883024619*c.r + 0.2817188376*c.g + 0.6299787005*c.b)
	return lab{
		l: 0.2104542553*l + 0.7936177850*m - 0.0040720468*s,
		a: 1.9779984951*l - 2.4285922050*m + 0.4505937099*s,
		b: 0.0259040371*l + 0.7827717662*m - 0.8086757660*s,
	}
}

func cube(x float64) float64 { return x * x * x }

// rgba is the opaque screen colour, cut to what a screen can show.
func (c linear) rgba() color.RGBA {
	return color.RGBA{R: encode(c.r), G: encode(c.g), B: encode(c.b), A: 255}
}

func fromRGBA(c color.RGBA) linear {
	return linear{decode(c.R), decode(c.G), decode(c.B)}
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

func decode(v uint8) float64 {
	x := float64(v) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}
