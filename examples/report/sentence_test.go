package report

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
)

// german returns a text of the library in German, with [ ] around what is still English.
func german(t *testing.T, text string) string {
	l, err := readLanguage("de")
	require.NoError(t, err)
	var out strings.Builder
	for _, p := range l.translated(text) {
		if p.untranslated {
			p.text = "[" + p.text + "]"
		}
		out.WriteString(p.text)
	}
	return out.String()
}

func TestSentencesOfTheLibraryInGerman(t *testing.T) {
	for _, one := range []struct{ english, german string }{
		{"left channel clips at 2.13 s (1 412 samples at full scale)",
			"der linke Kanal übersteuert bei 2,13 s (1 412 Abtastwerte bei Vollaussteuerung)"},
		{"right channel hums at 50 Hz with 7 of its multiples (−63.2 dBFS rms; the response is off by up to 0.4 dB at 50 Hz)",
			"der rechte Kanal brummt bei 50 Hz und Vielfachen davon (Anzahl: 7) (−63,2 dBFS rms; der Frequenzgang ist bei 50 Hz um bis zu 0,4 dB falsch)"},
		{"the recording jumps at 2.00 s, the first of 3 jumps: about 1.5 ms are missing",
			"die Aufnahme springt bei 2,00 s, dem ersten von 3 Sprüngen: Etwa 1,5 ms sind verloren"},
		{"channel 3 is silent (−98.0 dBFS rms)", "Kanal 3 ist stumm (−98,0 dBFS rms)"},
		{"the impedance at 1 kHz is 32.1 Ω (95 % confidence: 31.8 to 32.4 Ω), within 32 Ω ± 10 %",
			"die Impedanz bei 1 kHz beträgt 32,1 Ω (Vertrauensniveau 95 %: 31,8 bis 32,4 Ω), innerhalb von 32 Ω ± 10 %"},
		{"distortion of at most 0.2 % at 1 kHz and 100 dB SPL", "Klirrfaktor höchstens 0,2 % bei 1 kHz und 100 dB SPL"},
		{"sensitivity of 99 dB SPL/mW at 1 kHz ± 2 dB", "Empfindlichkeit 99 dB SPL/mW bei 1 kHz ± 2 dB"},
		{"mass of 250 g ± 5 g", "Masse 250 g ± 5 g"},
		{"20 Hz–20 kHz within −3 dB of the level at 1 kHz", "20 Hz–20 kHz innerhalb von −3 dB, bezogen auf den Pegel bei 1 kHz"},
		{"the level at 3.32 kHz re the level at 1 kHz is -3.73 dB (95 % confidence: -4.56 to -2.90 dB), within −6 dB",
			"der Pegel bei 3,32 kHz relativ zu dem bei 1 kHz beträgt −3,73 dB (Vertrauensniveau 95 %: −4,56 bis −2,90 dB), innerhalb von −6 dB"},
		{"the distortion at 1.03 kHz and 99.6 dB SPL is 0.31 % (95 % confidence: 0.29 to 0.33 %), outside at most 0.2 %",
			"der Klirrfaktor bei 1,03 kHz und 99,6 dB SPL beträgt 0,31 % (Vertrauensniveau 95 %: 0,29 bis 0,33 %), also mehr als 0,2 %"},
		{"the tilt over 20 Hz–20 kHz, -0.437 dB/octave, is within 1.5 dB/octave",
			"die Neigung im Bereich 20 Hz–20 kHz, −0,437 dB/Oktave, liegt innerhalb von 1,5 dB/Oktave"},
		// Errors begin with names.
		{"tune: programme: tune 2.wav: the recording is silent: -98 dBFS; check the cable, the input and the channel, and record again",
			"tune: tune 2.wav: die Aufnahme ist stumm: −98 dBFS; Kabel, Eingang und Kanal prüfen und neu aufnehmen"},
		{"cannot be used, so seating 2 is left out: x.wav: not a WAV recording: nobody knows what is in it",
			"ist nicht zu gebrauchen, daher: Platzierung 2 wird weggelassen: x.wav: keine WAV-Aufnahme: [nobody knows what is in it]"},
		{"the left side: capture: s.wav: channel 1: the clocks differ by -918 parts per million, more than crystals do; check the sample rates of player and recorder",
			"die linke Seite: s.wav: Kanal 1: die Takte unterscheiden sich um −918 ppm, mehr als Quarze; die Abtastraten von Player und Rekorder prüfen"},
		{"Known from 80 Hz up: something new takes 9 s.", "Bekannt ab 80 Hz: something new takes 9 s."},
		{"the sky is falling, and nothing is known", "[the sky is falling, and nothing is known]"},
		// Names stay as they are.
		{`measured on "plate \"2.5\" of the %s <b>"; the maker's rig may give another figure`,
			`gemessen auf „[plate "2.5" of the %s <b>]“; der Messaufbau des Herstellers kann einen anderen Wert ergeben`},
		{"a (1.5) & [b] %d.wav is left out", "a (1.5) & [b] %d.wav wird weggelassen"},
		{"right channel clips at 0.01 s (12 samples at full scale).", "der rechte Kanal übersteuert bei 0,01 s (12 Abtastwerte bei Vollaussteuerung)."},
		{"", ""},
	} {
		assert.Equal(t, one.german, german(t, one.english))
	}
}

func TestHostileSentencesTakeNoTime(t *testing.T) {
	l, err := readLanguage("de")
	require.NoError(t, err)
	began := time.Now()
	for _, part := range []string{", ", "; ", "a, ", " is ", "is %s, within ", " at 1 kHz", " (5 dBFS rms", `"`, "%", "\x00", "\xff", "(("} {
		l.translated(strings.Repeat(part, longestSentence/len(part)))
		l.translated(strings.Repeat(part, longestSentence))
	}
	assert.Less(t, time.Since(began), 10*time.Second, "a second or two; minutes if the work grew faster than with the square")
}

func TestEnglishOnTheGermanPageIsMarked(t *testing.T) {
	l, err := readLanguage("de")
	require.NoError(t, err)
	v := &view{glossary: glossary{language: l, uses: map[string][]glossaryUse{}}}
	assert.Equal(t, `<span lang="en">Nobody said &lt;b&gt; this.</span>`, string(v.Sentence("nobody said <b> this")))
	assert.Equal(t, "&lt;i&gt;.wav: der linke Kanal übersteuert bei 2,13\u00a0s (12 Abtastwerte bei Vollaussteuerung); leiser machen.",
		strings.Replace(string(v.remark(response.Finding{Recording: "<i>.wav", What: "left channel clips at 2.13 s (12 samples at full scale)",
			Remedy: "lower the input gain and record again"})), "die Eingangsverstärkung verringern und neu aufnehmen", "leiser machen", 1))
}
