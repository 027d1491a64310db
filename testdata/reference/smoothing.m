% Writes smoothing.json beside this file: means over bands, and the A-weighting,
% by GNU Octave.
%
% The curve is a resonance in closed form, H = 1/(1 - x^2 + jx/Q) with
% x = f/f0, of which the mean power, the mean level in dB and the mean of the
% complex value over ln f, from the lower edge of the band to the upper, come from
% quadcc, an adaptive Clenshaw-Curtis quadrature: it uses no grid.
%
% The A-weighting is built from its poles (IEC 61672-1, annex E: 20.599, 107.653,
% 737.862 and 12194.217 Hz, the first and the last double, four zeros at 0 Hz),
% not from the formula in squares of frequency.
%
% Made with octave 7.3.0 of Debian 12.
f0 = 1500; q = 8;
response = @(f) 1./(1 - (f/f0).^2 + 1i*f/f0/q);
centre = [60 400 1000 1300 1450 1500 1580 2000 5000 15000];
rows = {};
erb = @(f) 24.7*(4.37*f/1000 + 1);
for width = [1 3 12 48 -1 -0.5]
  result = zeros(4, numel(centre));
  for k = 1:numel(centre)
    if width > 0
      half = log(2)/(2*width);
    else
      % As wide as a multiple of the equivalent rectangular bandwidth and centred in ratio: high - low = width, high low = f^2.
      half = asinh(-width*erb(centre(k))/(2*centre(k)));
    end
    low = log(centre(k)) - half; high = log(centre(k)) + half;
    average = @(g) quadcc(g, low, high, [0 1e-11])/(high - low);
    result(1, k) = average(@(x) abs(response(exp(x))).^2);
    result(2, k) = average(@(x) 20*log10(abs(response(exp(x)))));
    result(3, k) = average(@(x) real(response(exp(x))));
    result(4, k) = average(@(x) imag(response(exp(x))));
  end
  rows{end+1} = jsonencode(struct("fraction", max(width, 0), "bandwidths", max(-width, 0), "power", result(1, :), ...
    "level", result(2, :), "real", result(3, :), "imag", result(4, :)));
end

third = 1000*10.^((-20:13)/10);
poles = [20.598997 20.598997 107.65265 737.86223 12194.217 12194.217];
gain = @(f) 80*log10(f) - sum(20*log10(abs(1i*f + poles)));
weighting = arrayfun(@(f) gain(f) - gain(1000), third);

file = fopen(fullfile(fileparts(mfilename("fullpath")), "smoothing.json"), "w");
fprintf(file, "{\n\"resonance\": %g,\n\"q\": %g,\n\"centre\": %s,\n\"bands\": [\n%s\n],\n\"weighting\": %s\n}\n", f0, q, ...
  jsonencode(centre), strjoin(rows, ",\n"), jsonencode(struct("frequency", third, "a", weighting)));
fclose(file);
