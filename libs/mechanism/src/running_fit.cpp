#include "hingeline/mechanism/running_fit.h"

#include <fmt/format.h>

#include <array>
#include <string>

namespace hingeline::mechanism {
namespace {

struct Micrometres {
  int lower;
  int upper;
};
/// Nominal sizes over 0 to 3, over 3 to 6, over 6 to 10 mm.
using Row = std::array<Micrometres, 3>;
constexpr std::array<double, 3> kUpTo{3, 6, 10};

constexpr Row kH7{{{0, 10}, {0, 12}, {0, 15}}};
constexpr Row kH8{{{0, 14}, {0, 18}, {0, 22}}};
constexpr Row kg6{{{-8, -2}, {-12, -4}, {-14, -5}}};
constexpr Row kf7{{{-16, -6}, {-22, -10}, {-28, -13}}};
constexpr Row kh6{{{-6, 0}, {-8, 0}, {-9, 0}}};
constexpr Row kh7{{{-10, 0}, {-12, 0}, {-15, 0}}};

const Row& row(BoreClass bore) { return bore == BoreClass::H7 ? kH7 : kH8; }
const Row& row(RodClass rod) {
  switch (rod) {
    case RodClass::g6:
      return kg6;
    case RodClass::f7:
      return kf7;
    case RodClass::h6:
      return kh6;
    case RodClass::h7:
      break;
  }
  return kh7;
}

Length in_length(int micrometres) { return millimetres(micrometres / 1000.0); }

Expected<Micrometres> look_up(const Row& r, Length nominal) {
  if (nominal.raw() > 0) {
    for (std::size_t k = 0; k < kUpTo.size(); ++k) {
      if (nominal.raw() <= kUpTo[k]) return r[k];
    }
  }
  return fail(Fault::geometry, "no running fit is tabled for this diameter",
              "a diameter above 0, up to 10 mm");
}

Expected<Deviation> to_deviation(const Expected<Micrometres>& m) {
  return m.map([](const Micrometres& v) { return Deviation{in_length(v.lower), in_length(v.upper)}; });
}

}  // namespace

const char* word(BoreClass bore) { return bore == BoreClass::H7 ? "H7" : "H8"; }

const char* word(RodClass rod) {
  switch (rod) {
    case RodClass::g6:
      return "g6";
    case RodClass::f7:
      return "f7";
    case RodClass::h6:
      return "h6";
    case RodClass::h7:
      break;
  }
  return "h7";
}

Expected<RunningFit> parse_running_fit(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    if (c != ' ') plain += c;
  }
  for (const BoreClass bore : {BoreClass::H7, BoreClass::H8}) {
    for (const RodClass rod : {RodClass::g6, RodClass::f7, RodClass::h6, RodClass::h7}) {
      if (plain == fmt::format("{}/{}", word(bore), word(rod))) return RunningFit{bore, rod};
    }
  }
  return fail(Fault::syntax, "this is not a running fit known here",
              "H7 or H8 for the bore, g6, f7, h6 or h7 for the rod, as in H7/g6");
}

Expected<Deviation> deviation(BoreClass bore, Length nominal) {
  return to_deviation(look_up(row(bore), nominal));
}
Expected<Deviation> deviation(RodClass rod, Length nominal) {
  return to_deviation(look_up(row(rod), nominal));
}

Expected<FitClearance> fit_clearance(RunningFit fit, Length nominal) {
  const auto bore = look_up(row(fit.bore), nominal);
  const auto rod = look_up(row(fit.rod), nominal);
  if (!bore) return tl::unexpected<Error>(bore.error());
  // Whole micrometres until the end: a difference of millimetre numbers would not be the nearest.
  return FitClearance{in_length(bore->lower - rod->upper), in_length(bore->upper - rod->lower)};
}

}  // namespace hingeline::mechanism
