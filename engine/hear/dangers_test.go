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
