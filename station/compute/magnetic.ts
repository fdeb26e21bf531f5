/** The Earth's magnetic field: World Magnetic Model 2025 (NOAA, BGS), by a library that carries its coefficients. */
import geomagnetism from 'geomagnetism';
import { dateOfYear } from '../../protocol/time.ts';

/** The model holds from 2025 until late in 2029. */
export const FIRST_YEAR = 2025;
export const LAST_YEAR = 2029.8;

/**
 * Field in a decimal year, at a position in degrees and a height in km above the ellipsoid: declination in degrees, east
 * positive; north component and total in nT.
 */
export function magneticField(year: number) {
  // asked about a date it does not hold for, the library answers all the same; who calls keeps within the years above
  const model = geomagnetism.model(dateOfYear(year), { allowOutOfBoundsModel: false });
  // latitude before longitude: exchanged, the library answers without a word
  return (latitude: number, longitude: number, height: number) => model.point([latitude, longitude, height]);
}

/** Magnetic declination, degrees, east positive, at a position in degrees and a geometric altitude in m. */
export function declination(year: number): (latitude: number, longitude: number, altitude: number) => number {
  const field = magneticField(year);
  return (latitude, longitude, altitude) =>
    Math.abs(latitude) <= 90 && Number.isFinite(longitude + altitude)
      ? field(latitude, longitude, altitude / 1000).decl
      : Number.NaN;
}
