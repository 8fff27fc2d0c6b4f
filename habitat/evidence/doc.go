// Package evidence turns optional maps of other people (soil surveys, flood
// zones, hand-drawn polygons) into shifts of the log-odds that a cell is
// bottomland.
//
// A Table says what each value of a layer's column is worth. Read lays one
// layer on the frame and keeps, for each cell, which row of the table speaks
// there. CombinePlanes makes one shift out of all layers, and Rule.Apply adds
// it to what the terrain says.
//
// # Evidence counted once
//
// Were the layers independent witnesses, Bayes' theorem would have their
// log-likelihood ratios added (I. J. Good, Probability and the Weighing of
// Evidence, 1950). They are not: the flood map was drawn with the soil map and
// the contours on the table, the soil map by looking at the landform, and low
// ground beside a stream is what the terrain model has found already. All
// three tell one story, and adding them in full would make a certainty out of
// one observation told three times.
//
// So a second witness to the same side counts Temper of its weight, the third
// Temper², and so on, the strongest first: a likelihood raised to a power below
// one, as in power priors (Ibrahim and Chen 2000, Statistical Science 15,
// 46–60), and a weighted sum of log-odds, as in logarithmic opinion pools
// (Genest and Zidek 1986, Statistical Science 1, 114–135). (References from
// memory.) Weights that fall as a geometric series, and the figures for
// them, are common practice, no source. What is gained is easily checked:
//
//   - The order of the layers does not matter, since shifts are sorted first.
//   - More evidence for bottomland never lowers the outcome: the place of each
//     shift among its sorted peers rises with it, and no weight is negative.
//   - The same layer twice adds at most Temper of itself, and any number of
//     copies stays below 1/(1−Temper) times one.
//   - Temper 1 is Bayes' theorem for independent layers, Temper 0 takes the
//     strongest word on either side and no other.
//
// Witnesses for and against are weighed apart and then added: a disagreement is
// not a repetition. Cap bounds the outcome.
//
// The terrain is a witness too, so a shift that agrees with it may carry the
// log-odds no further than Certainty; terrain that goes further by itself stays
// as it is. A shift that disagrees counts whole, up to Certainty on its own
// side. Where the terrain's sign turns nothing jumps, because the bound does not
// depend on that sign: for a shift upwards it is max(terrain, Certainty), for
// one downwards min(terrain, −Certainty).
//
// Not mapped is not evidence. A cell outside every polygon, a NULL, a value the
// table does not know and a row with shift 0 leave the terrain's word alone.
//
// These shifts tell where to look for bottomland trees. They are no statement
// about flood hazard: for that the official map and the local authority count.
package evidence
