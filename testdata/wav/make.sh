#!/bin/sh
# Makes the WAV fixtures again, in its own folder. Needs sox 14.4.2 and ffmpeg 5.1.
#
# Every name.wav has beside it name.f64: the same samples as raw 64-bit little-endian floats, interleaved, as decoded by
# the other of the two programs, so that ffmpeg read the files of sox, and sox those of ffmpeg.
set -eu
cd "$(dirname "$0")"
rm -f ./*.wav ./*.f64 ./*.w64
ff() { ffmpeg -v error -y "$@"; }

# sox: 80 samples at 8 kHz, sines of 500, 700 and 900 Hz, 6.0206 dB below full scale.
tone() { sox -D -r 8000 -n "$@" synth 80s sine 500 sine 700 gain -6.0206; }
tone -c 2 -b 8 sox-u8.wav
tone -c 2 -b 16 sox-s16.wav
tone -c 2 -b 24 sox-s24.wav # extensible
tone -c 2 -b 32 sox-s32.wav # extensible
tone -c 2 -e float -b 32 sox-f32.wav
tone -c 2 -e float -b 64 sox-f64.wav
sox -D -r 8000 -n -c 3 -b 16 sox-s16-3ch.wav synth 80s sine 500 sine 700 sine 900 gain -6.0206 # extensible
tone -c 2 -b 16 -t wav - 2>/dev/null | cat >sox-pipe-s16.wav # length unstated
tone -c 2 -b 24 -t wav - 2>/dev/null | cat >sox-pipe-s24.wav
for name in u8 s16 s24 s32 f32 f64 s16-3ch pipe-s16 pipe-s24; do
	ff -i sox-$name.wav -f f64le -c:a pcm_f64le sox-$name.f64
done

# ffmpeg: the same samples; a LIST chunk with the name of the program comes before the data.
for name in u8 s16le s24le s32le f32le f64le; do
	ff -i sox-f64.wav -c:a pcm_$name ffmpeg-${name%le}.wav
done
ff -i sox-f64.wav -af "pan=mono|c0=c0,atrim=end_sample=79" -c:a pcm_u8 ffmpeg-u8-odd.wav # 79 bytes and one of padding
ff -i sox-f64.wav -c:a pcm_s16le -rf64 always ffmpeg-rf64-s16.wav
ff -i sox-f64.wav -c:a pcm_s16le -f wav - | cat >ffmpeg-pipe-s16.wav # length unstated
ff -i sox-f64.wav -af "aeval=val(0)|val(1)|-val(0)|-val(1):c=4.0" -c:a pcm_s24le ffmpeg-s24-4ch.wav
for name in u8 s16 s24 s32 f32 f64 u8-odd s24-4ch; do
	sox ffmpeg-$name.wav -t f64 ffmpeg-$name.f64
done
sox --ignore-length ffmpeg-pipe-s16.wav -t f64 ffmpeg-pipe-s16.f64
cp ffmpeg-s16.f64 ffmpeg-rf64-s16.f64 # sox does not read RF64

# Not to be read: other codings, byte orders and kinds.
ff -i sox-f64.wav -c:a pcm_alaw refused-alaw.wav
ff -i sox-f64.wav -c:a adpcm_ima_wav refused-ima-adpcm.wav
ff -i sox-f64.wav -c:a flac -f flac - | head -c 64 >refused-flac.wav
ff -i sox-f64.wav -c:a pcm_s16le -f w64 refused-wave64.wav
sox sox-s16.wav -B refused-rifx.wav
