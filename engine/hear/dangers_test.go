package hear

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What can kill somebody at once is heard in many words, and never as its opposite. Below:
// what a crew says that sounds like it and is not.
func TestDangersAreHeard(t *testing.T) {
	l := listener(t)
	for _, c := range []struct {
		story string
		says  string // the sign alone: it is there
	}{
		{"the roughneck has his arm in the rod space and she is running", "person-in-danger"},
		{"somebody inside the liner chamber", "person-in-danger"},
		{"my glove and hand got caught in the rods", "person-in-danger"},
		{"the new man lost a finger", "person-in-danger"},
		{"motorman is hurt bad", "person-in-danger"},
		{"helper pinned between the rod clamp and the frame", "person-in-danger"},
		{"the mechanic is under the guard and the pump is turning", "person-in-danger"},
		{"it smells like rotten eggs round the pump", "gas-at-pump"},
		{"the H2S alarm just went", "gas-at-pump"},
		{"sour gas at the shakers", "gas-at-pump"},
		{"the gas detector in the pump room is screaming", "gas-at-pump"},
		{"power end is smoking hot", "smoke"},
		{"crosshead cover is blistering", "smoke"},
		{"the flow line keeps flowing with both pumps off", "flow-with-pumps-off"},
		{"the well has kicked", "pit-gain"},
		{"we got a kick", "pit-gain"},
		{"trip tank is gaining", "pit-gain"},
		{"the well started to come in", "pit-gain"},
		{"they charged the dampener with oxygen", "dampener-wrong-gas"},
		{"somebody filled the dampener from the rig air line", "dampener-wrong-gas"},
		{"gas is hissing from the cap of the dampener", "dampener-leaks-gas"},
		{"we tried the start and it moved", "isolation-failed"},
		{"driller says the well is flowing", "pit-gain"},
		{"there is flow from the well", "pit-gain"},
		{"mud coming over the bell nipple now", "pit-gain"},
		{"the mud hose burst", "line-cracked"},
		{"the standpipe has a washout", "line-cracked"},
		{"she keeps running with the throttle at zero", "console-ignored"},
		{"the pump ran away from the driller", "console-ignored"},
		{"the crankcase exploded", "smoke"},
		{"sparks come out of the motor", "smoke"},
		{"clutch engaged by itself", "isolation-failed"},
		{"they took the cap off the dampener with pressure in it", "dampener-leaks-gas"},
		{"drive is locked but she turned over, the pump moved under lock", "isolation-failed"},
		{"another man took my lock off", "isolation-failed"},
		{"the breaker was back on", "isolation-failed"},
		{"pump started by itself with the cover off", "isolation-failed"},

		{"the crankshaft is cracked", "running-gear-broken"},
		{"con rod is broken", "running-gear-broken"},
		{"crosshead pin sheared", "running-gear-broken"},
		{"crank throw has a crack", "running-gear-broken"},
		{"the piston rod is cracked", "rod-broken"},
		{"the fluid end is cracked", "body-wet-line"},
		{"module has cracked clean thru", "body-wet-line"},
		{"the valve cover is cracked", "body-wet-line"},
		{"valve cover bolts broke off", "cover-backing-off"},
		{"liner on 2 is cracked", "liner-worn"},
		{"the relief line has come loose", "line-cracked"},
		{"bleed line came off and is thrashing", "line-cracked"},
		{"unon on the discharge line parted", "line-cracked"},
		{"kelly hose just let go", "line-cracked"},
		{"the dampener fell off its mount", "line-cracked"},
		{"the drive shaft is broken", "drive-shakes"},
		{"hes stuck in there with his arm and the pump is still turning", "person-in-danger"},
		{"we have one man bleeding at pump two", "person-in-danger"},
		{"somone is still inside the crankcase", "person-in-danger"},
		{"the lad is lying behind the pump and dont move", "person-in-danger"},
		{"electrician took a shock at the motor", "person-in-danger"},
		{"the jet went through his glove", "person-in-danger"},
		{"gas! everybody off", "gas-at-pump"},
		{"i smell roten eggs by suction tank", "gas-at-pump"},
		{"sulfur smell very strong near pits", "gas-at-pump"},
		{"flames coming out the clutch housing", "smoke"},
		{"belts are burning", "smoke"},
		{"pozo esta flowing, pit rising fast", "pit-gain"},
		{"flowline wont quit after pumps shut", "flow-with-pumps-off"},
		{"mud pushes out of the drillpipe with no pumps", "flow-with-pumps-off"},
		{"someone filled the pulsation bottle with oxy", "dampener-wrong-gas"},
		{"they energized the pump with us inside", "person-in-danger"},
		{"clutch came in while we were changing the liner", "isolation-failed"},
		{"pump kicked over while i was in the fluid end locked out", "isolation-failed"},
		{"my lock is gone from the breaker", "isolation-failed"},
		{"I think the well is flowing", "pit-gain"},

		{"the smoke won't go away", "smoke"},
		{"crack of the fluid end never stops weeping", "body-wet-line"},
		{"gain in the pits is not stopping", "pit-gain"},
		{"the gas alarm will not stop", "gas-at-pump"},
		{"the cap of the dampener does not stop hissing", "dampener-leaks-gas"},
		{"no question the module is cracked", "body-wet-line"},
		{"there is no question that a man is under the guard", "person-in-danger"},
		{"without doubt the piston rod is broken", "rod-broken"},
		{"cannot get his leg out of the pump", "person-in-danger"},
		{"nobody can pull him out", "person-in-danger"},
		{"not everybody is out", "person-in-danger"},
		{"all out but Tom", "person-in-danger"},
		{"the helper is dead", "person-in-danger"},
		{"he got tangled in the belts", "person-in-danger"},
		{"somebody still under the pump and it runs", "person-in-danger"},
		{"Al had his hand in there when it rolled", "person-in-danger"},
		{"pushed the button and she kicked over with the locks on", "isolation-failed"},
		{"explosion in the power end", "smoke"},
		{"the kelly hose blew", "line-cracked"},

		{"nobody is hurt", "No: person-in-danger"},
		{"no gas alarm", "No: gas-at-pump"},
		{"tried the start and nothing moved", "No: isolation-failed"},
		{"well is static", "No: flow-with-pumps-off"},
		{"cannot hold my hand on crosshead 3", "crosshead-hot"},
		{"gauge kicks every stroke", "gauge-kick"},
		{"gas cut mud", "mud-airy"},
		{"breaker tripped", "pump-tripped"},
		{"dampener has no gas", "dampener-gas"},
		{"the pump is locked up", "pump-stuck"},
		{"less flow at the flow line", "returns-down"},
	} {
		var said []string
		for _, h := range l.Hear(c.story, layout(triplex)).Heard {
			if h.Answer == "absent" {
				h.ID = "No: " + h.ID
			}
			said = append(said, h.ID)
		}
		assert.Contains(t, said, c.says, c.story)
		assert.NotContains(t, said, "No: "+c.says, c.story)
	}
}

// What sounds like a danger and is none is not taken for one.
func TestNoDangerIsHeardWhereNoneIsTold(t *testing.T) {
	l := listener(t)
	for _, story := range []string{
		"no gas seen", "no gas at all at the pits", "gas readings zero", "gas detector was tested and reads zero", "we bumped the gas monitors this morning and they work",
		"locks are on", "all locks are still hanging", "my lock is on the breaker", "took my lock off after the job, all men out", "try start done and nothing moved",
		"nobody near the pump", "nobody was hurt", "everybody is out and counted", "all hands on deck for the liner change", "fire pump tested", "fire extinguisher is in place",
		"no smoke and no fire", "fire watch stood by", "well is dead and static", "no flow with the pumps off", "no kick", "pit level steady", "the trip tank is holding",
		"hoses look good and are tied down", "hose was changed last week", "dampener holds 750 psi nitrogen", "charged the dampener with nitrogen to 700", "no hiss at the dampener cap",
		"crankshaft tested, no cracks", "checked the crosshead pins, not cracked", "rod looks whole", "valve covers are tight and marked", "the guard is back on", "hand wheel is stiff",
		"gave him a hand with the liner", "the pump is running fine", "pump is still running", "safety meeting held about h2s", "first aid kit is full", "the gas test before work was clear",
	} {
		for _, h := range l.Hear(story, layout(triplex)).Heard {
			assert.False(t, l.ofStop(h.Is, h.ID, h.Answer) && h.Strength == Strong, "%s: %s", story, brief(h))
		}
	}
}

// Where somebody or something is taken out of what is denied, where only the words behind
// a danger are denied, and where it was long ago, the danger is asked for and nothing is sure.
func TestADoubtfulDenialOfADangerIsAskedFor(t *testing.T) {
	l := listener(t)
	for story, sign := range map[string]string{
		"everyone clear of the pump but Tom is in it": "person-in-danger", "nobody is inside except Al": "person-in-danger", "no injuries except a crushed thumb": "person-in-danger",
		"nobody hurt but he is stuck in there": "person-in-danger", "no gas except a smell of bad eggs": "gas-at-pump", "smell of bad eggs no alarm yet": "gas-at-pump",
		"no alarm but it smells of bad eggs": "gas-at-pump", "cannot rule out a crack in the module": "body-wet-line", "last year a rod broke here": "rod-broken", "rod not broken but cracked": "rod-broken",
	} {
		there := false
		for _, h := range l.Hear(story, layout(triplex)).Heard {
			there = there || h.ID == sign && h.Answer == "present"
			assert.False(t, h.ID == sign && h.Answer == "absent" && h.Strength == Strong, "%s: %s", story, brief(h))
		}
		assert.True(t, there, story)
	}
}

// That a part failed is no check of it that was made, and no work on it.
func TestAFailureIsNoCheckMade(t *testing.T) {
	l := listener(t)
	for _, part := range []string{"crankshaft", "piston rod", "con rod", "fluid end", "body", "liner", "valve cover", "cover bolt", "cylinder head", "crosshead", "crosshead pin", "rod clamp", "main bearing", "crankcase cover", "discharge hose", "sheave", "seat"} {
		for _, how := range []string{"is cracked", "is broken", "has come loose"} {
			story := "the " + part + " " + how
			for _, h := range l.Hear(story, layout(triplex)).Heard {
				assert.Equal(t, IsSign, h.Is, "%s: %s", story, brief(h))
			}
		}
	}
	for story, check := range map[string]string{"crankshaft crack tested": "crankshaft-crack-test", "dye check on the module, no cracks": "crack-test"} {
		got := l.Hear(story, layout(triplex)).Heard
		if assert.NotEmpty(t, got, story) {
			assert.Equal(t, check, got[0].ID, story)
		}
	}
}

// A pump that runs does not turn the wrong way for that, and a shaft with end play does not
// shake its hub.
func TestWhatSoundsLikeAStopAndIsNone(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "pump is still running", []string{"pump-tripped absent"}},
		{triplex, "the pump is running fine", []string{"pump-tripped absent"}},
		{triplex, "end play of the crankshaft", []string{"bearing-marks present"}},
		{triplex, "too much end play", []string{"bearing-marks present"}},
		{triplex, "endplay on crank too big", []string{"bearing-marks present"}},
		{triplex, "crankshaft moves back and forth in its bearings", []string{"bearing-marks present"}},
	})
}
