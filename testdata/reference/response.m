% Writes response.json beside this file: filters, their minimum phase, group
% delay and step, and curves between points, by GNU Octave and its signal package.
%
% The filters are the four of a published example (A. Novak, P. Lotton, L. Simon,
% generalised Hammerstein model, 96 kHz; coefficients from the authors' page), and
% the second with its zeros reflected out of the unit circle, which leaves its
% magnitude and changes its phase. freqz, grpdelay and filter give their response;
% rceps folds the real cepstrum of 2^16 samples for the minimum phase.
%
% The curve is read between its points by interp1 over the logarithm of
% frequency, and its mean over a band is the trapezoidal rule, trapz, over it.
%
% Made with octave 7.3.0 and octave-signal 1.4.3 of Debian 12.
pkg load signal
fs = 96000;
b = {[1 -1.9027 0.9409], [1 -1.8959 0.9025], [0.5 -0.9176 0.4512], [0.1 -0.1836 0.0846], [0.9025 -1.8959 1]};
a = {[1 -1.8996 0.9025], [1 -1.9075 0.9409], [1 -1.8471 0.8649], [1 -1.7642 0.8464], [1 -1.9075 0.9409]};
f = [24 96 240 996 1500 2400 4800 9600 19200 36000];
n = 2^16;
rows = {};
for k = 1:5
  h = freqz(b{k}, a{k}, f, fs);
  delay = grpdelay(b{k}, a{k}, fs/2, fs)(f + 1); % bins of 1 Hz from 0
  impulse = filter(b{k}, a{k}, [1; zeros(n-1, 1)]);
  [~, least] = rceps(impulse);
  m = exp(-2i*pi*f(:)*(0:n-1)/fs) * least;
  step = filter(b{k}, a{k}, ones(200, 1));
  rows{k} = jsonencode(struct("sampleRate", fs, "b", b{k}, "a", a{k}, "frequency", f, ...
    "level", 20*log10(abs(h(:).')), "phase", angle(h(:).'), "groupDelaySamples", delay(:).', ...
    "minimumPhase", angle(m.'), "step", step(1:20:200)'));
end

points = [20 31 50 90 140 300 650 1000 1700 2900 4500 8000 12000 20000];
level = [-3.5 -1 0.25 2 1.5 0 -0.75 0.5 3 -2 -6.25 1 4 -9];
at = [20 25 47 100 111 500 999 1200 2345 6000 11000 19999];
dense = linspace(log(20), log(20000), 200001);
straight = interp1(log(points), level, dense);
curve = jsonencode(struct("frequency", points, "level", level, "at", at, ...
  "between", interp1(log(points), level, log(at)), ...
  "mean", trapz(dense, straight)/log(1000)));

file = fopen(fullfile(fileparts(mfilename("fullpath")), "response.json"), "w");
fprintf(file, "{\n\"filters\": [\n%s\n],\n\"curve\": %s\n}\n", strjoin(rows, ",\n"), curve);
fclose(file);
