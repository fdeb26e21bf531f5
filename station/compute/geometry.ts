/** Positions on the WGS 84 ellipsoid: C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013). */
import geodesic from 'geographiclib-geodesic';

const { DISTANCE, AZIMUTH } = geodesic.Geodesic;

/** Length (m) of the shortest line between two positions in degrees; NaN for a latitude beyond 90 degrees. */
export const distanceBetween = (latitude1: number, longitude1: number, latitude2: number, longitude2: number): number =>
  geodesic.Geodesic.WGS84.Inverse(latitude1, longitude1, latitude2, longitude2, DISTANCE).s12 ?? Number.NaN;

/** True track (degrees, 0 to 360) in which that line leaves the first position. */
export function trackBetween(latitude1: number, longitude1: number, latitude2: number, longitude2: number): number {
  const azimuth = geodesic.Geodesic.WGS84.Inverse(latitude1, longitude1, latitude2, longitude2, AZIMUTH).azi1;
  if (azimuth === undefined) return Number.NaN;
  return azimuth < 0 ? azimuth + 360 : azimuth;
}
