package capcheck

import (
	"fmt"
	"math"
	"slices"
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
	MeasureNext  Action = "measure"  // the tape that tells most of what is not seen, or not sure
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
	Action Action  `json:"action"`
	Amount float64 `json:"amount"` // mm along the scalp; of an exchange or a reseat, how far off
	Error  float64 `json:"error"`  // of what was measured, its standard error, mm; 0 where not known
	// of a slide or a turn: all that was measured, mm, of which Amount is
	// sure
	Measured  float64    `json:"measured"`
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
	Now    float64     `json:"now"`    // mm; of a tape to be laid next, what the turn seen so far gives
	Should float64     `json:"should"` // mm
}

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

// Headline is the advice as one line for the technician, with its steps
// numbered where there are several, as the figure has them. What a tape has to
// read then is among the Numbers.
func (c Check) Headline() string {
	steps := make([]string, len(c.Advice))
	for i, a := range c.Advice {
		steps[i] = a.String()
		if a.Action == CheckByTape {
			steps[i] = "check by tape"
		}
		if len(steps) > 1 {
			steps[i] = fmt.Sprintf("%d. %s", i+1, steps[i])
		}
	}
	return strings.Join(steps, "; ")
}

// Numbers are lines on which the advice rests: what the tapes to check by
// should read, and the turn with its errors.
func (c Check) Numbers() string {
	var b strings.Builder
	for _, a := range c.Advice {
		if a.Action == CheckByTape {
			fmt.Fprintln(&b, a)
		}
	}
	fmt.Fprintln(&b, c.Turn)
	if slices.ContainsFunc(c.Advice, Advice.short) {
		fmt.Fprintln(&b, "a move is shorter than what was measured where that is not sure: measure "+
			"again after it")
	}
	if c.ReadingError > 0 {
		fmt.Fprintf(&b, "± are standard errors, from readings with errors of %g mm; a turn whose error is "+
			"more than %.0f° is not seen\n", c.ReadingError, seenLimit*180/math.Pi)
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
		return fmt.Sprintf("slide the cap %s mm %s", a.amount(), a.Direction)
	case TurnCap:
		return fmt.Sprintf("turn: %s %s mm %s", a.Where, a.amount(), a.Direction)
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
	case MeasureNext:
		t := a.Tapes[0]
		return fmt.Sprintf("measure %s to %s next, some %s cm: %s yet", landmarkWords[t.From], t.To,
			layout.Centimetres(t.Now), a.Where)
	}
	return string(a.Action)
}

// short reports whether a move stops short of what was measured.
func (a Advice) short() bool { return math.Round(a.Measured) > math.Round(a.Amount) }

// amount is that of a move, with all that was measured where that is more.
func (a Advice) amount() string {
	if a.short() {
		return fmt.Sprintf("%.0f of %.0f", a.Amount, a.Measured)
	}
	return fmt.Sprintf("%.0f", a.Amount)
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
