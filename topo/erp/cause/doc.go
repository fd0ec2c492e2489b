// Package cause tells why an epoch is lost and why an electrode is bad, from
// the amplitudes, and what to ask of the wearer or to see to.
//
// Each row is split at about 18 Hz into a slow and a fast part, and the hum of
// the mains is measured in it ([Meter]). The electrode that swings most decides
// for its epoch. Where its fast part is larger than its slow one,
//
//   - most of it may be hum;
//   - at the temples, the forehead or the neck, and not at one electrode alone, it
//     is the muscle below ([Regions]): a muscle reaches its neighbours or works on
//     both sides, the noise of a contact stays where it is;
//   - elsewhere it is a loose contact, or movement where most electrodes swing.
//
// Where its slow part is larger,
//
//   - most electrodes swing where the wearer moves;
//   - electrodes above both eyes swing alike in a blink, and against each other
//     beside both eyes in a sideways look;
//   - one that its nearest neighbour does not follow has a loose contact.
//
// These are rules of thumb (common practice, no source). Their limits are ours:
// the tests plant each cause and hold the rules to it.
package cause
