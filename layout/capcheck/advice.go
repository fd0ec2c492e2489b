package capcheck

import (
	"fmt"
	"math"
	"strings"

	"calotte/layout"
)

// An Action is what a piece of advice asks for.
type Action string

const (
	Keep         Action = "keep"     // nothing to do
	PutRight     Action = "swapped"  // sides of the whole cap are exchanged
	ExchangePair Action = "exchange" // two electrodes are exchanged
	SlideCap     Action = "slide"    // the whole cap, over the scalp
	TurnCap      Action = "turn"     // the whole cap, about the vertical
	LowerCap     Action = "lower"    // the cap sits too high all round, or it is too small
	LiftCap      Action = "lift"     // the cap sits too low all round, or it is too large
	Reseat       Action = "reseat"   // single electrodes
	CheckByTape  Action = "check"    // by tape
)

// A Direction is the wearer's.
type Direction string

const (
	Forward  Direction = "forward"
	Backward Direction = "backward"
	ToLeft   Direction = "to the wearer's left"
	ToRight  Direction = "to the wearer's right"
)

// Advice is one thing to do.
type Advice struct {
	Action    Action     `json:"action"`
	Amount    float64    `json:"amount"`    // mm along the scalp; of an exchange or a reseat, how far off
	Error     float64    `json:"error"`     // its standard error, mm; 0 where not known
	Where     string     `json:"where"`     // what is moved: "cap", "front edge", or names of electrodes
	Direction Direction  `json:"direction"` // empty where there is none
	Rest      float64    `json:"rest"`      // of an exchange: how far off if it is done, mm
	Moved     bool       `json:"moved"`     // of a reseat: counted once the whole cap is moved as advised before
	Tapes     []TapeMark `json:"tapes,omitempty"`
	Swap      Swap       `json:"swap"`
}

// A TapeMark is a reading that tells whether a move was enough.
type TapeMark struct {
	From   layout.Name `json:"from"`
	To     layout.Name `json:"to"`
	Now    float64     `json:"now"`    // mm
	Should float64     `json:"should"` // mm
}

// smallestMove is the least move in mm worth asking for: a hand and a tape do
// no better (common practice, no source). smallestHeight is the same for a
// cap's height, which adds up readings, or the small errors of many sites.
const smallestMove, smallestHeight = 2.0, 3.0

// surely is how many standard errors a move must exceed.
const surely = 2

// advise writes the advice. A move is the opposite of the displacement found.
func (c *Check) advise(head layout.Surface) error {
	if c.Swap != NoSwap {
		c.Advice = []Advice{{Action: PutRight, Where: "cap", Swap: c.Swap}}
		return nil
	}
	for _, e := range c.Exchanges {
		c.Advice = append(c.Advice, Advice{
			Action: ExchangePair, Where: e.Sites[0] + " and " + e.Sites[1], Amount: e.AsNamed,
			Rest: e.Exchanged,
		})
	}
	if c.Limit == 0 || len(c.Beyond) > 0 {
		c.adviseHeight()
		if err := c.adviseMoves(head); err != nil {
			return err
		}
		c.adviseReseat()
	}
	if len(c.Advice) > 0 {
		return nil
	}
	return c.adviseUnexplained(head)
}

// ringEnds are the tapes that decide where the points are too uncertain to.
var ringEnds = [][2]layout.Name{{"Nz", "Fpz"}, {"Iz", "Oz"}, {"LPA", "T7"}, {"RPA", "T8"}}

// adviseTapes adds the readings that show how the cap sits.
func (c *Check) adviseTapes(head layout.Surface, ends [][2]layout.Name) error {
	a := Advice{Action: CheckByTape, Where: "cap"}
	for _, e := range ends {
		mark, err := c.tapeMark(head, e[0], e[1])
		if err != nil {
			return err
		}
		a.Tapes = append(a.Tapes, mark)
	}
	c.Advice = append(c.Advice, a)
	return nil
}

// A move undoes one angle of the turn.
type move struct {
	action   Action
	where    string
	angle    Angle
	edge     layout.Name      // whose radius turns degrees into mm
	positive Direction        // that undoes a positive angle
	negative Direction        // that undoes a negative one
	check    [][2]layout.Name // the tapes that show it
}

func (c *Check) turnMoves() []move {
	return []move{
		{SlideCap, "cap", c.Turn.Pitch, "Cz", Forward, Backward, ringEnds[:2]},
		{SlideCap, "cap", c.Turn.Roll, "Cz", ToLeft, ToRight, ringEnds[2:]},
		{TurnCap, "front edge", c.Turn.Yaw, "Fpz", ToRight, ToLeft,
			[][2]layout.Name{{"LPA", "Fpz"}, {"RPA", "Fpz"}}},
	}
}

// adviseHeight comes before the moves: pulling the cap down changes them.
func (c *Check) adviseHeight() {
	h := math.Abs(c.Height)
	if h < smallestHeight {
		return
	}
	action := LowerCap
	if c.Height < 0 {
		action = LiftCap
	}
	c.Advice = append(c.Advice, Advice{Action: action, Amount: h, Error: c.heightError, Where: "cap"})
}

func (c *Check) adviseMoves(head layout.Surface) error {
	radius := map[layout.Name]float64{}
	for _, e := range c.Edges {
		radius[e.Site] = e.Radius
	}
	var ends [][2]layout.Name
	for _, m := range c.turnMoves() {
		scale := radius[m.edge] * math.Pi / 180
		amount, uncertain := math.Abs(m.angle.Degrees)*scale, m.angle.Error*scale
		if !m.angle.Known || amount < max(smallestMove, surely*uncertain) {
			continue
		}
		direction := m.positive
		if m.angle.Degrees < 0 {
			direction = m.negative
		}
		c.Advice = append(c.Advice,
			Advice{Action: m.action, Amount: amount, Error: uncertain, Where: m.where,
				Direction: direction})
		ends = append(ends, m.check...)
	}
	if len(ends) == 0 {
		return nil
	}
	return c.adviseTapes(head, ends)
}

// tapeMark is the reading that was taken, else the one that turn and height
// give.
func (c *Check) tapeMark(head layout.Surface, from, to layout.Name) (TapeMark, error) {
	line, err := newTapeLine(head, from, to)
	if err != nil {
		return TapeMark{}, err
	}
	mark := TapeMark{From: from, To: to, Should: line.should,
		Now: line.should + line.moved(lifted(line.to, c.Height), c.Turn.Vector())}
	for _, t := range c.Tapes {
		if t.From == from && t.To == to {
			mark.Now = t.Distance
		}
	}
	return mark, nil
}

// Instructions are the advice as numbered lines for the technician.
func (c Check) Instructions() string {
	var b strings.Builder
	for i, a := range c.Advice {
		fmt.Fprintf(&b, "%d. %s\n", i+1, a)
	}
	return b.String()
}

// String is the advice as a line of text.
func (a Advice) String() string {
	switch a.Action {
	case Keep:
		return "leave the cap as it is"
	case PutRight:
		return swapAdvice[a.Swap]
	case ExchangePair:
		return fmt.Sprintf("exchange %s: %.0f mm off as named, %.0f mm if exchanged", a.Where, a.Amount, a.Rest)
	case SlideCap:
		return fmt.Sprintf("slide the cap %.0f mm %s", a.Amount, a.Direction)
	case TurnCap:
		return fmt.Sprintf("turn: %s %.0f mm %s", a.Where, a.Amount, a.Direction)
	case LowerCap:
		return fmt.Sprintf("the cap sits %.0f mm too high all round: pull it down evenly, or take a larger one",
			a.Amount)
	case LiftCap:
		return fmt.Sprintf("the cap sits %.0f mm too low all round: lift it evenly, or take a smaller one",
			a.Amount)
	case Reseat:
		return a.reseat()
	case CheckByTape:
		marks := make([]string, len(a.Tapes))
		for i, t := range a.Tapes {
			marks[i] = t.String()
		}
		return "check by tape: " + strings.Join(marks, "; ")
	}
	return string(a.Action)
}

var swapAdvice = map[Swap]string{
	LeftRight:   "left and right are exchanged: check plugs, names and the order of LPA and RPA, then measure again",
	FrontBack:   "front and back are exchanged: check plugs and names, then measure again",
	BackToFront: "the cap is on back to front: take it off, turn it round, then measure again",
}

// landmarkWords are what a technician calls the landmarks.
var landmarkWords = map[layout.Name]string{"Nz": "nasion", "Iz": "inion", "LPA": "left preauricular point",
	"RPA": "right preauricular point"}

// String is the reading in cm, as a tape shows it.
func (t TapeMark) String() string {
	return fmt.Sprintf("%s to %s now %s cm, should be %s cm", landmarkWords[t.From], t.To,
		layout.Centimetres(t.Now),
		layout.Centimetres(t.Should))
}
