// Prints what the npm package psychrolib says of a grid of moist air, one line a point:
// dry C, wet C, altitude m, pressure Pa, relative humidity %, dew point C, vapour pressure Pa,
// saturation pressure Pa. The C++ test compares. Exits 77 where the package is not installed.
import { createRequire } from "node:module";

let psychrolib;
try {
  psychrolib = createRequire(import.meta.url)("psychrolib");
} catch {
  console.error("psychrolib is not installed: npm ci in tests/published");
  process.exit(77);
}
psychrolib.SetUnitSystem(psychrolib.SI);

// Below this humidity ratio the library answers with a floor of its own, not with the formula.
const FLOOR = 1e-6;
const lines = [];
for (const altitude of [0, 1000, 2000]) {
  const pressure = psychrolib.GetStandardAtmPressure(altitude);
  for (let half = 40; half <= 80; half++) {
    const dry = half / 2;
    for (let wet = 10; wet <= dry; wet += 0.5) {
      const ratio = psychrolib.GetHumRatioFromTWetBulb(dry, wet, pressure);
      if (ratio <= FLOOR) continue;
      const humidity = 100 * psychrolib.GetRelHumFromTWetBulb(dry, wet, pressure);
      const dew = psychrolib.GetTDewPointFromTWetBulb(dry, wet, pressure);
      const vapour = psychrolib.GetVapPresFromHumRatio(ratio, pressure);
      const saturation = psychrolib.GetSatVapPres(dry);
      lines.push([dry, wet, altitude, pressure, humidity, dew, vapour, saturation].join(" "));
    }
  }
}
console.log(lines.join("\n"));
