package target

import "example.com/earnest/response"

// Uses returns the four uses.
func Uses() []Use { return []Use{mixing(), voice(), generalListening(), games()} }

// The four uses below state which figures matter and why. The limits are starting points, in the
// range of engineers' requirements and listeners' perception; no standard states them. Each call
// returns a new value, so you may change its limits. How loud a pair may safely be played, and for
// how long, is another question, and comes before all of these.

// mixing is for people whose decisions go into a recording: they will correct the pair's errors in
// the mix, for everybody else to hear.
func mixing() Use {
	return Use{
		Name: "mixing", Band: Audible, Weight: PerOctave,
		Needs: []Need{
			{What: RMSDeviation, Limit: 2.5,
				Why: "balances between instruments will be set against the pair's error and be wrong elsewhere"},
			{What: TiltSize, Limit: 0.5, Why: "mixes will be too dull or too bright by as much"},
			{What: RegionLevel, Over: response.Band{Low: 40, High: 200}, Limit: 3,
				Why: "bass drum and bass will be set too loud or too soft"},
			{What: MaxDeviationSize, Limit: 8,
				Why: "single notes and sibilants will be tamed, or left alone, for the wrong reason"},
			{What: SidesApart, Over: response.Band{Low: 200, High: 8000}, Limit: 1,
				Why: "what should stand in the middle does not, and will be panned to make up for it"},
			{What: HarmonicShare, Over: response.Band{Low: 100, High: 5000}, Limit: 1,
				Why: "distortion of the pair will be taken for distortion in the recording, or hide it"},
		},
	}
}

// voice is for people who record, edit or follow speech. It weighs each part of the spectrum by its
// contribution to intelligibility.
func voice() Use {
	return Use{
		Name: "voice", Band: response.Band{Low: 141, High: 8913}, Weight: SpeechImportance,
		Needs: []Need{
			{What: RMSDeviation, Limit: 3, Why: "voices will sound unlike themselves where they are understood"},
			{What: RegionLevel, Over: response.Band{Low: 150, High: 400}, Limit: 4,
				Why: "voices will seem thin or boomy, and be equalised for it"},
			{What: RegionLevel, Over: response.Band{Low: 2000, High: 4000}, Limit: 3,
				Why: "consonants will seem clearer, or less clear, than they are"},
			{What: RegionLevel, Over: response.Band{Low: 5000, High: 8900}, Limit: 4,
				Why: "sibilants will be tamed too much or too little"},
			{What: HarmonicShare, Over: response.Band{Low: 150, High: 4000}, Limit: 2, Why: "voices will seem rough"},
		},
	}
}

// generalListening is for enjoying music and films. It weighs by the bandwidths of the ear.
func generalListening() Use {
	return Use{
		Name: "general listening", Band: Audible, Weight: PerERB,
		Needs: []Need{
			{What: RMSDeviation, Limit: 3.5, Why: "recordings will sound different from what was intended"},
			{What: TiltSize, Limit: 1, Why: "everything will sound dull or shrill"},
			{What: RegionLevel, Over: response.Band{Low: 40, High: 200}, Limit: 5,
				Why: "the bass will be weak or overwhelming"},
			{What: SidesApart, Over: response.Band{Low: 200, High: 8000}, Limit: 2, Why: "the stage leans to one side"},
			{What: HarmonicShare, Over: response.Band{Low: 100, High: 5000}, Limit: 3,
				Why: "loud passages will sound rough"},
		},
	}
}

// games is for telling where a sound comes from: by the difference between the sides, and by the
// direction-dependent colouring of the treble by the shape of the ear.
func games() Use {
	return Use{
		Name: "games", Band: response.Band{Low: 40, High: 12000}, Weight: PerERB,
		Needs: []Need{
			{What: SidesApart, Over: response.Band{Low: 500, High: 8000}, Limit: 1,
				Why: "sounds will seem to come from further to one side than they do"},
			{What: RegionLevel, Over: response.Band{Low: 2000, High: 5000}, Limit: 4,
				Why: "steps and voices will be hidden, or stand out and tire"},
			{What: RegionLevel, Over: response.Band{Low: 5000, High: 12000}, Limit: 5,
				Why: "above and below, before and behind will be hard to tell apart"},
			{What: RMSDeviation, Limit: 4, Why: "loud parts of the spectrum will mask the faint ones that matter"},
		},
	}
}
