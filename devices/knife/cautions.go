package knife

// Cautions are what a person is told before a blade moves. They defer to the machine's own manual
// and to the rules of the place; general practice, not a substitute for either.
func Cautions() []string {
	return []string{
		"the machine's manual and the rules of your workroom come first; where they differ from this, follow them",
		"the blade cuts skin as it cuts cloth: cap it when it is not in use, change it with a tool, with the axes disabled and the power off",
		"the machine's own emergency stop must be within reach and tried before work; pause and cancel here go over a cable and a computer and are no substitute for it",
		"keep hands, hair, sleeves, tapes and lanyards out of the machine's reach while its axes are enabled; some heads fall when power goes",
		"home the machine, set Z 0 on the cloth that lies there, and run once round the bounds with the blade lifted",
		"check that the cloth is held down, and that no pin, weight, clip or scissors lies within the bounds",
		"cut the first piece slowly and look at the depth in waste; wear eye protection, as blades snap",
		"stay with the machine while it cuts",
		"after an alarm, a reset, a stall or a lost link the position and the blade's heading are unknown: lift by hand, home, and start from a whole outline",
	}
}
