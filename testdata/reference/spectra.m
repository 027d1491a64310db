% Writes spectra.json beside this file: the two signals of programme.py through
% pwelch of GNU Octave's signal package, which has its own averaging over segments:
% a second source beside SciPy.
%
% Made with octave 7.3.0 and octave-signal 1.4.3 of Debian 12.
pkg load signal
count = 3000;
i = 0:count-1;
residues = @(a, b) mod(a*i.*i + b*i, 65537)/32768 - 1;
x = residues(7919, 104729); z = residues(6101, 15487);
y = 0.3*z;
y(4:end) += 0.5*x(1:end-3);
y(5:end) -= 0.2*x(1:end-4);

rows = {};
for row = [48000 64 32; 44100 128 32; 8000 96 96; 16000 100 50]'
  fs = row(1); n = row(2); overlap = (n - row(3))/n;
  window = 0.5 - 0.5*cos(2*pi*(0:n-1)'/n);
  settings = {window, overlap, n, fs, "half", "no-strip"};
  [xx, f] = pwelch(x, settings{:});
  yy = pwelch(y, settings{:});
  xy = conj(pwelch(x, y, settings{:}, "cross")); % which has x y*, where others have x* y
  h = conj(pwelch(x, y, settings{:}, "trans"));
  g = pwelch(x, y, settings{:}, "coher");
  rows{end+1} = jsonencode(struct("sampleRate", fs, "len", n, "hop", row(3), "frequency", f(:)', "direct", xx(:)', ...
    "through", yy(:)', "crossReal", real(xy(:)'), "crossImag", imag(xy(:)'), ...
    "h1Real", real(h(:)'), "h1Imag", imag(h(:)'), "coherence", g(:)'));
end

file = fopen(fullfile(fileparts(mfilename("fullpath")), "spectra.json"), "w");
fprintf(file, "[\n%s\n]\n", strjoin(rows, ",\n"));
fclose(file);
