package compare

import (
	"fmt"
	"math"
)

// came says why candidate j of B was not on A's list.
func (r *reasoner) came(j int) Reason {
	return r.listed(true, j, r.ground.overB[0][j], r.ground.overB[1][j])
}

// went says why candidate i of A is not on B's list.
func (r *reasoner) went(i int) Reason {
	return r.listed(false, i, r.ground.overA[0][i], r.ground.overA[1][i])
}

// listed explains an entry (came) or a leaving by what both runs know of its
// ground: before and after are theirs, A's and B's, over the same outline.
func (r *reasoner) listed(came bool, k int, before, after ground) Reason {
	out, in := before, after // of the run that does not list it, and the one that does
	outRun, inRun := r.a, r.b
	if !came {
		out, in, outRun, inRun = after, before, r.b, r.a
	}
	outT, inT := outRun.record.threshold(), inRun.record.threshold()
	s := out.at("suitability")
	rival, most := r.rival(came, k)
	say := func(entered, left string) string {
		if came {
			return entered
		}
		return left
	}
	switch {
	case out.at("keep-out")-zeroed(in.at("keep-out")) >= 0.5:
		return r.reason(ByKeepOut, math.NaN(), say("it was ground to keep out of and is no longer", "it is now ground to keep out of"))
	case outRun.info == nil || inRun.info == nil:
		if rival != "" {
			return r.reason(ByOutline, math.NaN(), rival)
		}
		return r.reason(ByUnknown, math.NaN(), "no suitability raster to look at")
	case math.IsNaN(s):
		return r.reason(ByArea, math.NaN(), say("run A knows nothing of this ground", "run B knows nothing of this ground"))
	case s < outT && s < inT:
		return r.suitability(came, k, before, after, fmt.Sprintf("suitability there %.2f → %.2f, a patch needs %g", before.at("suitability"), after.at("suitability"), r.b.record.threshold()))
	case s < outT:
		return r.reason(ByThreshold, math.NaN(), fmt.Sprintf("suitability there is %.2f, and a patch needs %s", s, say(
			fmt.Sprintf("%g where it needed %g", inT, outT), fmt.Sprintf("%g where it needed %g", outT, inT))))
	case most >= 0.5:
		return r.reason(ByOutline, math.NaN(), rival)
	case len(outRun.Candidates) < outRun.record.Counts.Found:
		text := fmt.Sprintf("the list of run %s ends at rank %d, before it", outRun.Label, len(outRun.Candidates))
		if before, after := before.at("access"), after.at("access"); math.Abs(after-before) > 0.01 && r.any(onAccess) {
			return r.reason(ByAccess, math.NaN(), text+": who may enter changed, and open ground is listed first")
		}
		if x, y := before.at("suitability"), after.at("suitability"); math.Abs(math.Log(y/x)) >= smallPart {
			return r.suitability(came, k, before, after, fmt.Sprintf("%s; suitability there %.2f → %.2f", text, x, y))
		}
		return r.reason(ByLength, math.NaN(), text)
	case rival != "":
		return r.reason(ByOutline, math.NaN(), rival)
	}
	return r.reason(ByOutline, math.NaN(), fmt.Sprintf("suitable in both (%.2f → %.2f), but run %s made no patch of it", before.at("suitability"), after.at("suitability"), outRun.Label))
}

func zeroed(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// rival names the candidate of the other run that holds most of the ground,
// where one holds a tenth of it or more, and the share it holds.
func (r *reasoner) rival(came bool, k int) (words string, share float64) {
	own, theirs, label := r.m.a, r.b.Candidates, "B"
	if came {
		own, theirs, label = r.m.b, r.a.Candidates, "A"
	}
	cells := countCells(own[k])
	best, most := -1, 0
	for o := range theirs {
		key := [2]int{k, o}
		if came {
			key = [2]int{o, k}
		}
		if n := r.m.shared[key]; n > most {
			best, most = o, n
		}
	}
	if best < 0 || 10*most < cells {
		return "", 0
	}
	share = float64(most) / float64(cells)
	return fmt.Sprintf("%.0f %% of its ground belongs to candidate %d of run %s", 100*share, theirs[best].Rank, label), share
}

// suitability explains a rise or fall of suitability that took a candidate
// past the threshold or the end of a list; text says which.
func (r *reasoner) suitability(came bool, k int, before, after ground, text string) Reason {
	x, y := before.at("suitability"), after.at("suitability")
	bx, by := before.at("bottomland"), after.at("bottomland")
	if math.IsNaN(bx) || math.IsNaN(by) {
		on := ByUnknown
		switch {
		case r.any(onEvidence):
			on = ByEvidence
		case r.any(onWeights, onTerrain):
			on = ByTerrain
		case r.any(onHosts, onCover):
			on = ByHosts
		}
		return r.reason(on, math.NaN(), text)
	}
	whole := math.Log(max(y, 1e-3) / max(x, 1e-3))
	bottom := math.Log(max(by, 1e-3)/max(bx, 1e-3)) / 2
	hosts := whole - bottom
	if !r.any(onHosts, onCover) && r.any(onEvidence, onWeights, onTerrain) {
		bottom, hosts = whole, 0
	}
	share := evidenceShare(bx, by, zeroed(after.at("evidence"))-zeroed(before.at("evidence")))
	if !r.any(onEvidence) {
		share = 0
	}
	t := terms{evidence: bottom * share, terrain: bottom * (1 - share), hosts: hosts}
	name, effect := t.greatest()
	switch name {
	case ByEvidence:
		text += fmt.Sprintf(": bottomland %.2f → %.2f, moved by evidence (log-odds %.1f → %.1f)", bx, by, zeroed(before.at("evidence")), zeroed(after.at("evidence")))
	case ByTerrain:
		text += fmt.Sprintf(": bottomland %.2f → %.2f", bx, by)
	case ByHosts:
		text += ": what grows there"
	}
	because := r.behind(name)
	if name == ByTerrain {
		i, j := k, -1
		if came {
			i, j = -1, k
		}
		because = r.weighed(because, i, j)
	}
	return r.reasonFrom(name, effect, text, because)
}
