% Writes deviation.json beside this file: the deviation of a response from a target,
% by GNU Octave.
%
% Both curves are read every 1/20000 octave by interp1 over the logarithm of
% frequency; trapz makes the means, polyfit the straight line.
%
% Made with octave 7.3.0 of Debian 12.
frequency = [18 26 40 71 100 180 320 500 820 1200 2100 3300 4700 7400 10500 15000 22000];
response = [-7 -3.5 -1 1.5 2.25 0.5 -0.5 -1.25 0.25 1 4.5 6 1.5 -4 3.5 -2 -11];
targetFrequency = [10 60 250 1000 3000 9000 30000];
target = [4 3 0.5 0 2 -1 -6];
bands = [20 20000; 100 10000; 200 500];

rows = {};
for band = bands'
  octaves = log2(band(2)/band(1));
  x = linspace(log2(band(1)), log2(band(2)), ceil(20000*octaves) + 1);
  d = interp1(log2(frequency), response, x) - interp1(log2(targetFrequency), target, x);
  average = @(v) trapz(x, v)/octaves;
  offset = -average(d);
  d += offset;
  line = polyfit(x, d, 1);
  [~, at] = max(abs(d));
  rows{end+1} = jsonencode(struct("low", band(1), "high", band(2), "offset", offset, "rms", sqrt(average(d.^2)), ...
    "meanAbsolute", average(abs(d)), "tilt", line(1), "ripple", sqrt(average((d - polyval(line, x)).^2)), ...
    "within2dB", average(abs(d) <= 2), "widest", d(at), "widestAt", 2^x(at)));
end

file = fopen(fullfile(fileparts(mfilename("fullpath")), "deviation.json"), "w");
fprintf(file, "{\n\"frequency\": %s,\n\"response\": %s,\n\"targetFrequency\": %s,\n\"target\": %s,\n\"bands\": [\n%s\n]\n}\n", ...
  jsonencode(frequency), jsonencode(response), jsonencode(targetFrequency), jsonencode(target), strjoin(rows, ",\n"));
fclose(file);
