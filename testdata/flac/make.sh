#!/bin/sh
# Makes the FLAC fixtures again, in its own folder. Needs flac 1.4.2, sox 14.4.2, ffmpeg 5.1 and python3.
#
# Every name.flac has beside it name.f64: the same samples as raw 64-bit little-endian floats, interleaved, as they were before
# they were encoded, or as decoded by another program than the one that encoded them.
set -eu
cd "$(dirname "$0")"
rm -f ./*.flac ./*.f64
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
ff() { ffmpeg -v error -y "$@"; }

# 400 samples at 8 kHz: a sine of 500 Hz, pink noise, white noise, 8 dB below full scale; sox -R makes the same noise every time.
tone() { sox -D -R -r 8000 -n -c "$1" -b "$2" "$work/$3.wav" synth 400s sine 500 pinknoise whitenoise gain -8; }
tone 2 8 u8
tone 2 16 s16
tone 2 24 s24
tone 2 32 s32
tone 3 16 s16-3ch
sox -M "$work/s16-3ch.wav" "$work/s16-3ch.wav" "$work/s16.wav" "$work/s16-8ch.wav"

# flac: blocks of 192 samples, the last one shorter; LPC, and the two channels coded together where that is shorter.
for name in u8 s16 s24 s32 s16-8ch; do
	flac -s -8 --no-padding -b 192 --lax -o flac-$name.flac "$work/$name.wav" 2>"$work/log"
	ff -i "$work/$name.wav" -f f64le -c:a pcm_f64le flac-$name.f64
done
# A pipe of raw samples: the length stays open, and there is no checksum over all samples.
sox "$work/s16.wav" -t raw - | flac -s --no-padding --force-raw-format --endian=little --sign=signed --channels=2 --bps=16 --sample-rate=8000 -c - 2>"$work/log" | cat >flac-pipe-s16.flac
cp flac-s16.f64 flac-pipe-s16.f64
# 12 and 20 bits: a sine of 500 Hz in WAV files that say how many of their 16 and 24 bits are valid.
python3 - "$work" <<'PYTHON'
import math, struct, sys
for bits, width in ((12, 2), (20, 3)):
    left = [round(0.4 * 2 ** (bits - 1) * math.sin(2 * math.pi * 500 * i / 8000)) for i in range(400)]
    right = [-v // 3 for v in left]
    samples = [v for pair in zip(left, right) for v in pair]
    data = b"".join((v << (8 * width - bits)).to_bytes(width, "little", signed=True) for v in samples)
    form = struct.pack("<HHIIHHHHI", 0xFFFE, 2, 8000, 16000 * width, 2 * width, 8 * width, 22, bits, 3)
    form += bytes.fromhex("0100000000001000800000aa00389b71")
    with open(f"{sys.argv[1]}/v{bits}.wav", "wb") as f:
        f.write(b"RIFF" + struct.pack("<I", 20 + len(form) + len(data)) + b"WAVEfmt " + struct.pack("<I", len(form)) + form)
        f.write(b"data" + struct.pack("<I", len(data)) + data)
    with open(f"flac-v{bits}.f64", "wb") as f:
        f.write(struct.pack("<800d", *(v / 2 ** (bits - 1) for v in samples)))
PYTHON
for bits in 12 20; do
	flac -s -8 --no-padding -o flac-v$bits.flac "$work/v$bits.wav"
done

# sox: constant subframes (silence), and a rate in separate bytes.
sox -D "$work/s24.wav" sox-silence-s24.flac vol 0
sox -D "$work/s16.wav" -r 12345 "$work/odd.wav"
sox -D "$work/odd.wav" -C 0 sox-12345hz.flac
for name in sox-silence-s24 sox-12345hz; do
	ff -i $name.flac -f f64le -c:a pcm_f64le $name.f64
done
# ffmpeg: samples as they are, which white noise at full scale comes to, and fixed predictors.
sox -D -R -r 8000 -n -c 2 -b 16 "$work/noise.wav" synth 400s whitenoise
ff -i "$work/noise.wav" -c:a flac -compression_level 5 -fflags +bitexact -flags:a +bitexact ffmpeg-noise-s16.flac
ff -i "$work/s24.wav" -c:a flac -lpc_type fixed -fflags +bitexact -flags:a +bitexact ffmpeg-fixed-s24.flac
for name in ffmpeg-noise-s16 ffmpeg-fixed-s24; do
	sox $name.flac -t f64 $name.f64
done
