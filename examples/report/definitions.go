package report

// definitions are what the page's figures mean, in the order in which they are
// printed. Where sentences can be read in two ways, the more exact definition
// comes first, for its words are looked for first.
var definitions = []definition{
	// What was played and recorded.
	{
		ID: "sweep", Term: "sweep",
		Meaning: "A sine whose frequency rises by the same share in each second, in whole periods, " +
			"so that every harmonic of it begins in phase.",
		Unit: "Hz, s", Formula: "x(t) = A sin(2π f₁ L (exp(t/L) − 1)), L = T / ln(f₂/f₁), f₁ L whole",
		Source: "A. Farina, AES 108th Convention, 2000; A. Novak et al., J. Audio Eng. Soc. 63(10), 2015",
	},
	{
		ID: "dbfs", Term: "dBFS", Meaning: "The level of samples: " +
			"a sine that just reaches full scale is at 0 dBFS peak, and at −3.01 dBFS rms.",
		Unit: "dB", Reference: "full scale: the largest value that a file can hold", Formula: "20 lg |x|",
		Source: "common practice", said: `dBFS`,
	},
	{
		ID: "finding", Term: "finding",
		Meaning: "Something that was noticed in a recording: " +
			"a note changes nothing that is computed from it, a warning leaves the doubt it states, " +
			"and from what is unfit nothing should be computed.",
		Source: "the limits are this program's own",
	},
	{
		ID: "valid", Term: "not known",
		Meaning: "What was not excited, lies outside the range of the microphone, " +
			"or is too near the noise (less than 10 dB above it) is not known. Nothing is drawn there, and nothing is said: " +
			"it is not zero.",
		Source: "this program's own rule", said: `not known`,
	},

	// Response.
	{
		ID: "level", Term: "level",
		Meaning: "How strongly the headphones pass each frequency: " +
			"what was recorded through them divided by what was recorded straight through the interface, " +
			"what the microphone is known to add taken off. The curve as a whole is moved to fit the target, " +
			"so that how loud the pair plays is not in it.",
		Unit: "dB", Reference: "the direct recording, then the target",
		Formula: "20 lg |H_through(f) / H_direct(f)| + offset",
		Source:  "regularised division by the sweep as played: O. Kirkeby, P. Nelson, J. Audio Eng. Soc. 47(7/8), 1999 (from memory)", said: `the level at`,
	},
	{
		ID: "offset", Term: "offset",
		Meaning: "By how much the whole curve is moved, so that its squared distance from the target is least, " +
			"every octave weighing the same.",
		Unit: "dB", Formula: "−∫ (c − t) dx / ∫ dx, x = log₂ f", Source: "least squares",
	},
	{
		ID: "smoothing", Term: "smoothing",
		Meaning: "Each value is the mean power of a twelfth of an octave around it, weighed in the logarithm of frequency.",
		Unit:    "octave", Formula: "10 lg of the mean of |H|² over f·2^(−1/24) … f·2^(1/24)", Source: "common practice",
	},
	{
		ID: "sides-mean", Term: "mean of both sides", Meaning: "The mean of the levels of left and right, in decibels.",
		Unit: "dB", Reference: "the direct recording, then the target", Formula: "(L_left + L_right) / 2",
		Source: "arithmetic mean",
	},
	{
		ID: "interval", Term: "95 % interval",
		Meaning: "The range that holds the true value in 95 of 100 such measurements: " +
			"the figure plus and minus half its width, " +
			"or from one end to the other. It takes in how much the seatings differ and what the session states of the " +
			"rig; what it does not state is listed as not included. With one seating nobody knows how much the next " +
			"would differ.",
		Unit: "that of the figure",
		Formula: "half the width = t · u, u = √(Σ uᵢ²) over the independent causes, s/√n for n seatings; " +
			"t of Student with ν = u⁴ / Σ(uᵢ⁴/νᵢ) degrees of freedom; of an rms √(q ± t · u(q)), q its square",
		Source: "JCGM 100:2008 (GUM), 4.2, 5.1 and annex G", said: `95 % sure`,
	},
	{
		ID: "budget", Term: "budget",
		Meaning: "What makes a figure unsure: " +
			"each component by its name, with its share of the variance. What two sides, or two pairs, " +
			"have in common cancels in their difference.",
		Formula: "u² = Σ uᵢ²", Source: "JCGM 100:2008 (GUM), 5.1 and annex H",
	},

	// Deviation.
	{
		ID: "target", Term: "target",
		Meaning: "What the response is judged against; a target belongs to the rig it was made for.",
		Unit:    "dB", Source: "the session",
	},
	{
		ID: "match", Term: "left less right",
		Meaning: "The level of the left side less that of the right. As one figure: " +
			"the root of its mean square from 100 Hz, below which the fit on the rig decides, to 8 kHz, " +
			"above which a millimetre does; every octave weighs the same, and what the seatings scatter is taken off.",
		Unit: "dB", Reference: "the right side", Formula: "Δ = L_left − L_right; √(∫ Δ² dx / ∫ dx), x = log₂ f",
		Source: "this program's own choice of band",
		said:   `left and right differ by [\d.]+(?: ± [\d.]+)? dB rms|(?:mean of )?left less right|left–right match`,
	},
	{
		ID: "agreement", Term: "agreement of material and sweep",
		Meaning: "How far the response that music or speech gives lies from the sweep's: " +
			"the rms of their difference in third octaves, the median taken out, " +
			"for the gain may have been turned between the two. They agree where no third octave differs by more than " +
			"chance has it in one comparison of 20.",
		Unit: "dB", Reference: "the response from the sweep", Formula: "√(mean of Δ²) over the third octaves",
		Source: "this program's own",
		said:   `the same response, \S+ dB rms|the material and the sweep differ by \S+ dB rms`,
	},
	{
		ID: "voice", Term: "change of the voice",
		Meaning: "How unevenly the bands of speech come through, " +
			"those weighing most that carry most of what is understood. A voice that is only louder or softer has 0 dB. The " +
			"parts (low voice, body, presence, sibilance, air) are relative to the weighted mean.",
		Unit: "dB", Reference: "the weighted mean of the speech bands", Formula: "√(Σ wᵢ (Dᵢ − D̄)²), Σ wᵢ = 1",
		Source: "weights of ANSI S3.5-1997, table 3 (from memory)", said: `changed by \S+ dB rms`,
	},
	{
		ID: "rms", Term: "rms deviation",
		Meaning: "The root of the mean squared distance from the target, " +
			"every octave weighing the same (a use may weigh by hearing or by speech instead). What the scatter of the " +
			"seatings adds to it is taken off.",
		Unit: "dB", Reference: "the target", Formula: "√(∫ w d² dx / ∫ w dx), x = log₂ f, d = response − target + offset",
		Source: "root mean square; integrals over straight lines between the points",
		said:   `deviates by \S+(?: ± \S+)? dB rms|rms deviation|deviation from \S+ to (?:\S+|no more than \S+) dB rms`,
	},
	{
		ID: "absolute", Term: "mean absolute deviation",
		Meaning: "The mean distance from the target, whichever way, every octave weighing the same.",
		Unit:    "dB", Reference: "the target", Formula: "∫ |d| dx / ∫ dx", Source: "as rms deviation",
	},
	{
		ID: "tilt", Term: "tilt", Meaning: "The slope of the straight line that fits the deviation best: " +
			"below zero the treble is weak for the bass.",
		Unit: "dB per octave", Reference: "the target", Formula: "least squares of d against x = log₂ f",
		Source: "linear regression",
		said:   `\btilt\b`,
	},
	{
		ID: "ripple", Term: "ripple",
		Meaning: "The rms of the deviation after the tilt is taken out: its distance from the straight line of the tilt.",
		Unit:    "dB", Reference: "the line of the tilt",
		Formula: "√(∫ (d − a − b x)² dx / ∫ dx)",
		Source:  "as rms deviation", said: `\bripple\b`,
	},
	{
		ID: "share", Term: "share within tolerance",
		Meaning: "The part of the band, octave by octave, in which the deviation is no larger than the tolerance, " +
			"which the session or the target states; " +
			"±3 dB where neither does. Its interval is a rough one: " +
			"in simulated sessions it held the true share in 89 to 100 of 100.",
		Unit:    "%",
		Formula: "∫ dx where d is within tolerance / ∫ dx",
		Source:  "the session's tolerance", said: `within tolerance`,
	},
	{
		ID: "widest", Term: "maximum deviation",
		Meaning: "The largest deviation, either way, " +
			"and where it is. The interval is that of the deviation at this frequency; " +
			"where several peaks are nearly as high, the highest reading is likely a little too high.",
		Unit: "dB", Reference: "the target",
		Formula: "the d of largest |d|",
		Source:  "as rms deviation", said: `strays furthest|widest excursion|maximum deviation`,
	},
	{
		ID: "band", Term: "mean deviation of a band",
		Meaning: "The mean of the deviation over an octave band or another stretch.",
		Unit:    "dB", Reference: "the target",
		Formula: "∫ d dx / ∫ dx over the band; octaves of 1000·10^(0.3n) Hz, from 10^(−0.15) to 10^(0.15) times that",
		Source:  "bands: IEC 61260-1:2014", said: `mean deviation`,
	},

	// Distortion.
	{
		ID: "harmonic", Term: "harmonic",
		Meaning: "What comes out at a whole multiple of the frequency played, against the frequency played.",
		Unit:    "dB", Reference: "the fundamental, as it comes out",
		Formula: "20 lg |H_n(n f) / H₁(f)|; it leads the linear response by L ln n in the deconvolved recording",
		Source:  "A. Farina, AES 108th Convention, 2000",
	},
	{
		ID: "thd", Term: "total harmonic distortion",
		Meaning: "All harmonics together, " +
			"up to the first that is not known. A figure is the mean over the seatings with its interval, " +
			"a curve is that of the first seating. It holds at the level that was played: double that, and it is another.",
		Unit: "%, or dB", Reference: "the fundamental (IEC 60268-3, from memory, states it relative to the total; " +
			"results.json has both)", Formula: "√(Σ pₙ / p₁), n = 2, 3, …",
		Source: "common practice of makers", said: `(?:total )?harmonic distortion|distortion`,
	},
	{
		ID: "floor", Term: "floor of this measurement",
		Meaning: "The harmonics that noise and the interface would show with perfect headphones; " +
			"one less than 6 dB above it is not told from it. Such a one is not drawn; " +
			"what is then known is that it is no higher than its bound, with 95 % confidence.",
		Unit: "dB", Reference: "the fundamental",
		Formula: "noise from the silence in the recording, the rig's own harmonics from the direct one",
		Source:  "this program's own rule", said: `floor`,
	},
	{
		ID: "thdn", Term: "THD+N",
		Meaning: "Harmonics and noise together, from 20 Hz to 20 kHz, with those of the rig. Room and interface are in it.",
		Unit:    "%", Reference: "the fundamental", Formula: "√(Σ pₙ + p_noise) / √p₁", Source: "common practice",
	},
	{
		ID: "modulation", Term: "modulation distortion",
		Meaning: "How far a low tone of four times the amplitude modulates a high one.",
		Unit:    "%, or dB", Reference: "the high tone, as it comes out",
		Formula: "d₂ = (U(f₂−f₁) + U(f₂+f₁)) / U(f₂), d₃ the same with 2f₁; together √(d₂² + d₃²)",
		Source:  "60 Hz and 7 kHz of SMPTE RP 120; IEC 60268-3 (both from memory)", said: `modulation distortion`,
	},
	{
		ID: "difference", Term: "difference-frequency distortion",
		Meaning: "What two high tones make at the difference of their frequencies, and beside them.",
		Unit:    "%, or dB", Reference: "the sum of both tones, as they come out",
		Formula: "d₂ = U(f₂−f₁) / (U(f₁) + U(f₂)), d₃ = (U(2f₁−f₂) + U(2f₂−f₁)) / (U(f₁) + U(f₂))",
		Source:  "19 kHz and 20 kHz of IEC 60268-3 (from memory)", said: `difference-frequency distortion`,
	},
	{
		ID: "compression", Term: "compression",
		Meaning: "By how much the gain at a level differs from that at the lowest level played; " +
			"below zero the pair gives less than is asked of it.",
		Unit: "dB", Reference: "the gain at the lowest level", Formula: "20 lg |H₁(f, level) / H₁(f, lowest)|",
		Source: "common practice",
	},
	{
		ID: "reached", Term: "level at a wanted distortion",
		Meaning: "The highest level up to which the total harmonic distortion stays under the limit, " +
			"between the levels played. Where even the highest did not reach it, it is not reached: " +
			"how much louder the pair could go is not known.",
		Unit: "dBFS, or dB SPL", Formula: "linear in dB between the level below and the level above",
		Source: "this program's own",
	},
	{
		ID: "crosstalk", Term: "crosstalk",
		Meaning: "How much of what one side plays comes out of the other. A return lead that both sides share makes it " +
			"upside down, as its resistance stands to the impedance; the rest leaks through the air, the cups and the rig.",
		Unit: "dB", Reference: "the side's own response",
		Formula: "20 lg |H_other / H_own|; of a shared return R: −R / (Z + R)",
		Source:  "IEC 60268-7 (from memory); circuit theory", said: `crosstalk`,
	},
	{
		ID: "group-delay", Term: "group delay",
		Meaning: "By how much a group of neighbouring frequencies comes later than the whole, " +
			"in means of a third of an octave.",
		Unit:    "ms",
		Formula: "−dφ/dω, the delay of the whole taken out",
		Source:  "Oppenheim & Schafer, Discrete-Time Signal Processing (from memory)", said: `group delay`,
	},

	// Time.
	{
		ID: "impulse", Term: "impulse response",
		Meaning: "What a single click becomes, within the band that is known: " +
			"the response as it runs in time. It rings a little before and after, for a band that ends makes it do so.",
		Unit: "1", Reference: "its largest value", Formula: "the inverse Fourier transform of through / direct",
		Source: "linear systems",
	},
	{
		ID: "step", Term: "step response",
		Meaning: "What a sudden, lasting change becomes: " +
			"the running sum of the impulse response. What lies below the band is missing, " +
			"so it swings slowly about zero and does not begin there.",
		Unit: "1", Reference: "its largest value", Formula: "s(t) = ∫ h dt up to t", Source: "linear systems",
	},
	{
		ID: "decay", Term: "decay",
		Meaning: "How long a third octave takes until all but a thousandth of its energy has come. Where the band's own " +
			"filter rings as long, or noise is within 10 dB, it is not known.",
		Unit: "ms", Reference: "the peak of the impulse response",
		Formula: "E(t) = ∫ p² from t on; 10 lg E(t)/E = −30 dB",
		Source:  "M. R. Schroeder, J. Acoust. Soc. Am. 37, 1965", said: `decay`,
	},

	// Programme.
	{
		ID: "material", Term: "response from material",
		Meaning: "The response found from music or speech itself, recorded both ways, " +
			"in place of the sweep. Where the material has no energy, or the two recordings do not go together, " +
			"it is not known.",
		Unit: "dB", Reference: "the direct recording, then the target",
		Formula: "H₁ = S_xy / S_xx; known where |S_xy|² / (S_xx S_yy) ≥ 0.5",
		Source:  "J. S. Bendat, A. G. Piersol, Random Data; P. D. Welch, IEEE Trans. AU 15(2), 1967 (from memory)",
	},
	{
		ID: "spectrum", Term: "spectrum",
		Meaning: "How much of the material lies in each band, " +
			"or at each hertz. For the overlay the recording through the headphones is moved to the loudness of the direct " +
			"one, so what differs is the balance, not how loud it was recorded.",
		Unit: "dBFS", Reference: "full scale, rms", Formula: "10 lg ∫ S df over the band; S by Welch's method",
		Source: "bands: IEC 61260-1; loudness: ITU-R BS.1770-5 (from memory)",
	},
	{
		ID: "wavering", Term: "change over time",
		Meaning: "By how much more comes through in one second than in the median second, " +
			"by what the steady filter of the whole would make of the same second. A steady pair has 0 dB throughout, " +
			"whatever is played.",
		Unit: "dB", Reference: "the median second",
		Formula: "20 lg (Σ Re(H* S_xy) / Σ |H|² S_xx)",
		Source:  "this program's own; linear regression", said: `wavers`,
	},
	{
		ID: "covered", Term: "energy covered",
		Meaning: "The share of the material's energy that lies at frequencies where the response is known.",
		Unit:    "%",
		Formula: "∫ S_xx where known / ∫ S_xx",
		Source:  "this program's own", said: `covers \S+ % of the energy`,
	},
	{
		ID: "residual", Term: "residual",
		Meaning: "What is left in the recording through the headphones after all that a steady linear filter makes of " +
			"the direct one: noise, distortion, a pair that adapts or moved. A-weighted.",
		Unit: "dB", Reference: "the recording through the headphones",
		Formula: "(1 − γ²) S_yy, A-weighted, over S_yy, A-weighted",
		Source:  "coherence: J. S. Bendat, A. G. Piersol; A-weighting: IEC 61672-1",
		said:    `what no steady, linear filter explains`,
	},
	{
		ID: "reach", Term: "bass extension and attacks",
		Meaning: "Bass extension: the frequency below which the material comes through more than 10 dB softer than from " +
			"200 Hz to 2 kHz; attacks: " +
			"the share of sudden rises in the material that the recording through the headphones has at the same instant.",
		Unit: "Hz; %", Source: "this program's own", said: `reaches down|attacks`,
	},

	// Verdicts.
	{
		ID: "use", Term: "verdict for a use",
		Meaning: "Yes where every need stands clear of its limit, no where one fails, " +
			"cannot tell where this measurement is not sure enough. Only the end of the interval that faces the limit " +
			"counts, with 5 % beyond it where the interval stated has 2.5 % at either end. The limits are starting points " +
			"of ours, no standard's.",
		Formula: "yes: value + t·u ≤ limit; no: value − t·u > limit; t one-sided, 95 %",
		Source:  "guard bands: JCGM 106:2012, 8.3 (from memory)",
	},
	{
		ID: "claim", Term: "verdict on a claim", said: `maker’s \d+ figures`, Meaning: "Met, or not met, where the figure stands clear of the maker's by a guard band of its own uncertainty; otherwise this measurement cannot tell. A response, a sensitivity or a maximum level depends on the rig: what holds here need not on the maker's.",
		Formula: "as verdict for a use", Source: "JCGM 106:2012, 8.3 (from memory)",
	},
	{
		ID: "place", Term: "place", said: `takes places? \d+(?: to \d+)?`, Meaning: "The rank by rms deviation among pairs measured on one rig against one target. A range of places is a tie: chance could have put them in that order.",
		Formula: "Welch's t-test for each two pairs, with Holm's procedure, 95 % over all",
		Source:  "S. Holm, Scandinavian Journal of Statistics 6, 1979 (from memory)",
	},
	{
		ID: "filter", Term: "corrective filter",
		Meaning: "Peaking and shelving filters, fitted so that the response comes near the target. Q says how narrow: " +
			"a peaking filter's frequency over the width at which it has half its gain in dB. The gain before them keeps a " +
			"full-scale sine of any frequency from clipping.",
		Unit: "Hz; dB; 1", Formula: "biquads of the Audio EQ Cookbook; " +
			"gain before = −(largest sum of their levels), 0 at most",
		Source: "R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note, 8 June 2021",
	},

	// Electrical and sound pressure.
	{
		ID: "impedance", Term: "impedance",
		Meaning: "What the headphones set against a current, by frequency; its magnitude.",
		Unit:    "Ω",
		Formula: "Z = R · V_load / (V_source − V_load)",
		Source:  "voltage divider", said: `(?:lowest )?impedance`,
	},
	{
		ID: "output", Term: "change by output impedance",
		Meaning: "What an amplifier that is no ideal source makes of the response: less where the impedance is low.",
		Unit:    "dB", Reference: "an output of no impedance", Formula: "20 lg |Z / (Z + Zₒ)|", Source: "circuit theory",
	},
	{
		ID: "isolation", Term: "insertion loss",
		Meaning: "By how much the cup lessens noise from outside, its isolation, " +
			"by third octave. How it varies with the seating is not in its uncertainty.",
		Unit: "dB", Reference: "the same place without headphones",
		Formula: "L_open − L_covered, each less its background in power",
		Source:  "bands: IEC 61260-1; background as in ISO 3744 (from memory)",
	},
	{
		ID: "spill", Term: "sound leakage",
		Meaning: "How loud the headphones are to others while they play, by third octave and A-weighted, " +
			"at the distance stated.",
		Unit: "dB SPL; dB(A)", Reference: "20 µPa", Source: "bands: IEC 61260-1; A-weighting: IEC 61672-1",
	},
	{
		ID: "sensitivity", Term: "sensitivity",
		Meaning: "How loud a volt, or a milliwatt, of a 1 kHz sine is on this rig; " +
			"mean of the sides. Makers state it at 500 Hz or at 1 kHz, and for their own rig.",
		Unit: "dB SPL/V; dB SPL/mW", Reference: "20 µPa at 1 V, or at 1 mW",
		Formula: "dB SPL/V = dB SPL/mW + 10 lg(1000 Ω / Z)",
		Source:  "circuit theory", said: `sensitivity|dB SPL/(?:mW|V)`,
	},
	{
		ID: "a-weighted", Term: "A-weighted level",
		Meaning: "The level with each frequency weighted about as the ear does for soft sounds; " +
			"what rules of safe listening count in. Measured where the microphone stood, which is not a field nor your ear.",
		Unit: "dB(A)", Reference: "20 µPa", Formula: "10 lg of the sum of weighted powers", Source: "IEC 61672-1",
	},
	{
		ID: "spl", Term: "sound pressure level",
		Meaning: "The rms pressure of sound at the microphone, by the calibrator's tone.",
		Unit:    "dB SPL", Reference: "20 µPa", Formula: "20 lg (p / 20 µPa)", Source: "common practice", said: `dB SPL`,
	},
	{
		ID: "exposure", Term: "how long",
		Meaning: "How long a rule allows this level, taken two standard uncertainties higher, " +
			"which is the upper end of its interval and a little more. Guidance, not medical advice: " +
			"local rules and professionals go before it.",
		Unit: "h a day, or a week",
		Formula: "T = T₀ / 2^(x), x = (L − L₀) / 3 dB; at work 85 dB(A) for 8 h a day; " +
			"listening 80 dB(A), children and sensitive persons 75 dB(A), for 40 h a week",
		Source: "NIOSH 98-126, 1998; ITU-T H.870 (03/2022)",
	},
	{
		ID: "highest", Term: "maximum level",
		Meaning: "The level of a 1 kHz sine that the amplifier named can drive the pair to, " +
			"as far as its voltage and its current go. It can hurt.",
		Unit: "dB SPL", Reference: "20 µPa", Formula: "sensitivity + 20 lg min(V_max Z / (Z + Zₒ), I_max Z)",
		Source: "circuit theory",
	},
}
