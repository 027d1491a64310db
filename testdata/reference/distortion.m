% Writes distortion.json beside this file: the distortion of a device without a closed form,
% and the published Hammerstein example measured with a sweep, by GNU Octave's fft.
%
% The device is y = tanh(g x + o), which has harmonics of all orders. One period of
% a sine, or one second of two tones, is transformed with so many points that the
% folded harmonics are below rounding.
%
% The example (A. Novak, P. Lotton, L. Simon: four filters of the powers of x,
% 96 kHz, 10 Hz to 12 kHz in about 10 s; coefficients from the authors' page) is
% measured as the paper says: the recording's spectrum times the analytic inverse
% 2 sqrt(f/L) exp(-2 pi j f L (1 - ln(f/f1)) + j pi/4), back to time, and each
% harmonic's response cut out at -L ln n; the kernels follow from the powers of a
% sine (DLMF 4.21). Nothing of the linear part is subtracted first, so the kernels
% are right to 0.02 dB from 3 kHz on, not to rounding.
%
% Made with octave 7.3.0 of Debian 12.

% A single tone.
rows = {};
n = 2^12;
phase = 2*pi*(0:n-1)/n;
for c = [1.5 0; 0.8 0.3; 3 0.1]'
  y = fft(tanh(c(1)*sin(phase) + c(2)))/n*2;
  amplitude = abs(y(2:11));
  whole = sqrt(sum(amplitude(2:10).^2));
  rows{end+1} = jsonencode(struct("gain", c(1), "offset", c(2), "amplitude", amplitude, ...
    "toFundamental", whole/amplitude(1), "toTotal", whole/hypot(amplitude(1), whole)));
end

% Two tones, a bin to the hertz.
n = 2^20;
t = (0:n-1)/n;
line = @(y, f) y(abs(f) + 1);
x = 0.8*sin(2*pi*250*t) + 0.2*sin(2*pi*8000*t);
y = 2/n*abs(fft(tanh(0.7*x + 0.25)));
modulation = struct("lower", 250, "upper", 8000, "ratio", 4, "gain", 0.7, "offset", 0.25, ...
  "second", (line(y, 7750) + line(y, 8250))/line(y, 8000), "third", (line(y, 7500) + line(y, 8500))/line(y, 8000));
x = 0.5*sin(2*pi*19000*t) + 0.5*sin(2*pi*20000*t);
y = 2/n*abs(fft(tanh(0.7*x + 0.25)));
both = line(y, 19000) + line(y, 20000);
difference = struct("lower", 19000, "upper", 20000, "ratio", 1, "gain", 0.7, "offset", 0.25, ...
  "second", line(y, 1000)/both, "third", (line(y, 18000) + line(y, 21000))/both);

% The published example.
fs = 96000; f1 = 10; f2 = 12000;
L = round(f1*10/log(f2/f1))/f1;
T = L*log(f2/f1);
t = (0:round(T*fs)-1)/fs;
x = sin(2*pi*f1*L*(exp(t/L) - 1));
x(end-479:end) .*= cos(pi/2*(1:480)/480).^2; % 5 ms
x = [x zeros(1, 48000)];
b = {[1 -1.9027 0.9409], [1 -1.8959 0.9025], [0.5 -0.9176 0.4512], [0.1 -0.1836 0.0846]};
a = {[1 -1.8996 0.9025], [1 -1.9075 0.9409], [1 -1.8471 0.8649], [1 -1.7642 0.8464]};
y = 0;
for k = 1:4
  y = y + filter(b{k}, a{k}, x.^k);
end
n = 2^nextpow2(2*numel(x));
f = (1:n/2-1)/n*fs;
inverse = [0, 2*sqrt(f/L).*exp(-2i*pi*f*L.*(1 - log(f/f1)) + 1i*pi/4)/fs, 0];
product = fft(y, n)(1:n/2+1).*inverse;
impulse = real(ifft([product, conj(product(end-1:-1:2))]));
at = [3000 4500 6000 9000];
half = round(0.09*fs);
harmonic = zeros(4, numel(at));
for k = 1:4
  centre = -L*log(k)*fs;                        % where time zero of the order stands
  index = round(centre) + (-half:half);
  window = hanning(2*half + 1)';
  window(half/2+1:end-half/2) = 1;
  cut = impulse(mod(index, n) + 1).*window;
  harmonic(k, :) = (exp(-2i*pi*at(:)*(index - centre)/fs)*cut(:)).';
end
% sin^2 = 1/2 - cos(2)/2, sin^3 = 3/4 sin - sin(3)/4, sin^4 = 3/8 - cos(2)/2 + cos(4)/8, and cos is j times sin.
powers = [1 0 0.75 0; 0 -0.5i 0 -0.5i; 0 0 -0.25 0; 0 0 0 0.125i];
kernel = powers \ harmonic;
kernels = struct("frequency", at, "level", 20*log10(abs(kernel)));

file = fopen(fullfile(fileparts(mfilename("fullpath")), "distortion.json"), "w");
fprintf(file, "{\n\"tones\": [\n%s\n],\n\"modulation\": %s,\n\"difference\": %s,\n\"kernels\": %s\n}\n", strjoin(rows, ",\n"), ...
  jsonencode(modulation), jsonencode(difference), jsonencode(kernels));
fclose(file);
