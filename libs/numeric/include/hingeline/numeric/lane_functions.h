/// \file
/// Elementary functions on lanes. Include after lanes.h.
///
/// What is said of their errors is held by tests to the C library's results.
#pragma once

#include "hingeline/numeric/lanes.h"

namespace hingeline::numeric::HINGELINE_LANES_NAME {

// Plain functions throughout: GCC 12 gives lambdas the processor of the build, not that of the file.

/// The number that a lane's bits are, below 2^52.
template <class L>
HINGELINE_INLINE typename L::V whole_number(typename L::U bits) {
  return L::as_number(bits | L::all_bits(0x4330000000000000)) - L::all(0x1p52);
}

/// The natural logarithm of x / 2^32 times -2, with an error under 1e-13 of its value. x normal, above 0, at
/// most 2^32.
template <class L>
HINGELINE_INLINE typename L::V minus_twice_logarithm_of_share(typename L::V x) {
  using V = typename L::V;
  using U = typename L::U;
  constexpr std::uint64_t kMantissa = 0x000fffffffffffff;
  constexpr std::uint64_t kOne = 0x3ff0000000000000;
  constexpr std::uint64_t kRootOfHalf = 0x3fe6a09e667f3bcd;
  const U bits = L::as_bits(x);
  // x = 2^k m with m from the root of 1/2 to the root of 2; k + 1023 in the upper 12 bits of `moved`.
  const U moved = bits + L::all_bits(kOne - kRootOfHalf);
  const V k = L::as_number((moved >> 52) | L::all_bits(0x4330000000000000)) - L::all(0x1p52 + 1023 + 32);
  const V m = L::as_number((moved & L::all_bits(kMantissa)) + L::all_bits(kRootOfHalf));
  const V s = (m - L::all(1)) / (m + L::all(1));
  const V z = s * s;
  // -2 times 2 artanh(s), fitted at the zeros of a Chebyshev polynomial over z.
  const V rest = L::all(-2 * 0.6666666666737509) +
                 z * (L::all(-2 * 0.3999999879734175) +
                      z * (L::all(-2 * 0.28571754535625926) +
                           z * (L::all(-2 * 0.22191400832842692) + z * L::all(-2 * 0.1936265380381137))));
  return k * L::all(-2 * 0.69314718055994530942) + s * (L::all(-4) + z * rest);
}

/// Sine and cosine of x / 2^30 quarter turns, each with an error under 1e-13. |x| at most 2^29. Fitted as
/// above.
template <class L>
HINGELINE_INLINE void sine_cosine_of_quarters(typename L::V x, typename L::V& sine, typename L::V& cosine) {
  using V = typename L::V;
  const V z = x * x;
  sine = x * (L::all(1.5707963267948901 * 0x1p-30) +
              z * (L::all(-0.6459640975043113 * 0x1p-90) +
                   z * (L::all(0.0796926261553626 * 0x1p-150) +
                        z * (L::all(-0.004681752584438847 * 0x1p-210) +
                             z * (L::all(0.00016042922505161278 * 0x1p-270) +
                                  z * L::all(-3.5563131925839637e-06 * 0x1p-330))))));
  cosine =
      L::all(0.9999999999999443) + z * (L::all(-1.2337005501201497 * 0x1p-60) +
                                        z * (L::all(0.25366950715353287 * 0x1p-120) +
                                             z * (L::all(-0.020863468001210243 * 0x1p-180) +
                                                  z * (L::all(0.0009191617350011766 * 0x1p-240) +
                                                       z * L::all(-2.4850963565873088e-05 * 0x1p-300)))));
}

/// Sine and cosine, with an error under 1 unit in the last place; polynomials of fdlibm (Sun Microsystems,
/// 1993: k_sin.c, k_cos.c; from memory). |x| at most pi / 4.
template <class L>
HINGELINE_INLINE void sine_cosine(typename L::V x, typename L::V& sine, typename L::V& cosine) {
  using V = typename L::V;
  const V z = x * x;
  const V w = z * z;
  const V s = (L::all(8.33333333332248946124e-03) +
               z * (L::all(-1.98412698298579493134e-04) + z * L::all(2.75573137070700676789e-06))) +
              z * w * (L::all(-2.50507602534068634195e-08) + z * L::all(1.58969099521155010221e-10));
  sine = x + z * x * (L::all(-1.66666666666666324348e-01) + z * s);
  const V c = z * (L::all(4.16666666666666019037e-02) +
                   z * (L::all(-1.38888888888741095749e-03) + z * L::all(2.48015872894767294178e-05))) +
              w * w *
                  (L::all(-2.75573143513906633035e-07) +
                   z * (L::all(2.08757232129817482790e-09) + z * L::all(-1.13596475577881948265e-11)));
  const V half = L::all(0.5) * z;
  const V one_less = L::all(1) - half;
  cosine = one_less + (((L::all(1) - one_less) - half) + z * c);
}

/// Tangent and cotangent, each with an error under 4 units in the last place. 0 < x < pi / 2.
template <class L>
HINGELINE_INLINE void tangents(typename L::V x, typename L::V& tangent, typename L::V& cotangent) {
  using V = typename L::V;
  const typename L::M steep = L::less(L::all(0.78539816339744831), x);
  const V turned = (L::all(1.57079632679489656) - x) + L::all(6.12323399573676604e-17);
  V sine, cosine;
  sine_cosine<L>(L::choose(steep, turned, x), sine, cosine);
  const V rise = L::choose(steep, cosine, sine);
  const V run = L::choose(steep, sine, cosine);
  // One quotient for both.
  const V over = L::all(1) / (rise * run);
  tangent = rise * rise * over;
  cotangent = run * run * over;
}

/// How far from an angle tangents_near() reaches.
inline constexpr double kNearAngle = 0x1p-4;
/// Tangent and cotangent of a + x by the tangent of a, each with an error under 6 units in the last place.
/// |x| at most kNearAngle and half of both a and pi / 2 - a.
template <class L>
HINGELINE_INLINE void tangents_near(typename L::V x, typename L::V tangent_of_a, typename L::V& tangent,
                                    typename L::V& cotangent) {
  using V = typename L::V;
  const V z = x * x;
  // The series of the tangent (Abramowitz and Stegun, Handbook of Mathematical Functions, 4.3.67; from
  // memory).
  const V series = L::all(1.0 / 3) +
                   z * (L::all(2.0 / 15) +
                        z * (L::all(17.0 / 315) + z * (L::all(62.0 / 2835) + z * L::all(1382.0 / 155925))));
  const V t = x + x * (z * series);
  const V rise = tangent_of_a + t;
  const V run = L::all(1) - tangent_of_a * t;
  const V over = L::all(1) / (rise * run);
  tangent = rise * rise * over;
  cotangent = run * run * over;
}

/// Two independent standard normal deviates from 64 random bits: the radius from the lower half, the angle
/// from the upper (Box and Muller, Annals of Mathematical Statistics 29, 1958). The functions above are as
/// good as that needs: their errors move a deviate by less than a thousandth of the step between two radii or
/// angles.
template <class L>
HINGELINE_INLINE void normal_pair(typename L::U bits, typename L::V& first, typename L::V& second) {
  using V = typename L::V;
  using U = typename L::U;
  // Numbers half way between whole ones: the lower 32 bits from 0, the next 30 about 0.
  const V share =
      L::as_number((bits & L::all_bits(0xffffffff)) | L::all_bits(0x4330000000000000)) - L::all(0x1p52 - 0.5);
  const V quarter = L::as_number(((bits >> 31) & L::all_bits(0x7ffffffe)) | L::all_bits(0x4320000000000001)) -
                    L::all(0x1p51 + 0x1p29);
  const V radius = L::root(minus_twice_logarithm_of_share<L>(share));
  V sine, cosine;
  sine_cosine_of_quarters<L>(quarter, sine, cosine);
  // Which quarter by the upper two.
  const typename L::M swapped = L::bit_set(bits, 0x4000000000000000);
  const U upper = L::all_bits(0x8000000000000000);
  const U sign = bits & upper;
  const U other = (bits ^ (bits << 1)) & upper;
  const V along = radius * L::choose(swapped, sine, cosine);
  const V across = radius * L::choose(swapped, cosine, sine);
  // (c, s), (-s, c), (-c, -s), (s, -c)
  first = L::as_number(L::as_bits(along) ^ other);
  second = L::as_number(L::as_bits(across) ^ sign);
}

}  // namespace hingeline::numeric::HINGELINE_LANES_NAME
