#include "hingeline/mechanism/thread.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <optional>

namespace hingeline::mechanism {
namespace {

constexpr double kPi = std::numbers::pi;
/// tan 30 degrees as FED-STD-H28/2B prints it.
constexpr double kFlank = 0.57735;
constexpr double kMostMetricMajor = 24.0;
constexpr int kMostInchNumber = 12;

struct Coarse {
  double major;
  double pitch;
};
/// ISO 261 coarse pitches: M1.6 to M4 after an ISO 724 table; M1 to M1.4, M2.2 and from M4.5 up from
/// memory.
constexpr std::array<Coarse, 15> kCoarse{{{1, 0.25},
                                          {1.1, 0.25},
                                          {1.2, 0.25},
                                          {1.4, 0.3},
                                          {1.6, 0.35},
                                          {1.8, 0.35},
                                          {2, 0.4},
                                          {2.2, 0.45},
                                          {2.5, 0.45},
                                          {3, 0.5},
                                          {3.5, 0.6},
                                          {4, 0.7},
                                          {4.5, 0.75},
                                          {5, 0.8},
                                          {6, 1}}};

/// Lower case, no spaces, decimal points, `x` for the multiplication sign.
std::string plain(std::string_view text) {
  constexpr std::string_view kTimes = "\xC3\x97";
  std::string out;
  while (!text.empty()) {
    if (text.substr(0, kTimes.size()) == kTimes) {
      out += 'x';
      text.remove_prefix(kTimes.size());
      continue;
    }
    const char c = text.front();
    text.remove_prefix(1);
    if (c == ' ' || c == '\t') continue;
    out += c == ',' ? '.' : (c >= 'A' && c <= 'Z') ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return out;
}

/// A number of digits and one point, nothing else (no sign, no exponent).
std::optional<double> number(std::string_view text) {
  if (text.empty() || text.find_first_not_of("0123456789.") != std::string_view::npos) return std::nullopt;
  double v = 0;
  const auto [end, fault] =
      std::from_chars(text.data(), text.data() + text.size(), v, std::chars_format::fixed);
  if (fault != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return v;
}

std::optional<int> whole_number(std::string_view text) {
  if (text.empty() || text.size() > 3 || text.find_first_not_of("0123456789") != std::string_view::npos) {
    return std::nullopt;
  }
  int v = 0;
  std::from_chars(text.data(), text.data() + text.size(), v);
  return v;
}

tl::unexpected<Error> not_a_thread(std::string_view text) {
  std::string shown;
  for (const char c : text.substr(0, 40)) shown += static_cast<unsigned char>(c) < 0x20 ? '?' : c;
  return fail(Fault::syntax, fmt::format("\"{}\" is not a thread", shown),
              "M2.5x0.45, M2.5, 2-56 or 0-80, with LH behind it for a left-hand thread");
}

Expected<Thread> checked(Thread t) {
  if (!is_finite(t.pitch) || !is_finite(t.major) || t.pitch.raw() <= 0 || t.major.raw() <= 0) {
    return fail(Fault::geometry, "a thread without a pitch or a diameter", "both above 0");
  }
  if (t.pitch * 2 >= t.major) {
    return fail(Fault::geometry, "the thread's pitch is too coarse for its diameter",
                "a pitch less than half the major diameter");
  }
  return t;
}

double per_length(double diameter, double pitch, double overlap) {
  return kPi * diameter * std::max(0.0, 0.5 + kFlank * overlap / pitch);
}

}  // namespace

const char* word(Turn turn) { return turn == Turn::clockwise ? "clockwise" : "anticlockwise"; }

Expected<Thread> parse_thread(std::string_view text) {
  const std::string all = plain(text);
  std::string_view rest = all;
  Thread t;
  if (rest.size() > 2 && rest.substr(rest.size() - 2) == "lh") {
    t.left_hand = true;
    rest.remove_suffix(2);
    if (rest.back() == '-') rest.remove_suffix(1);
  }
  if (!rest.empty() && rest.front() == 'm') {
    rest.remove_prefix(1);
    t.system = ThreadSystem::metric;
    const std::size_t times = rest.find('x');
    const auto major = number(rest.substr(0, times));
    if (!major || *major <= 0 || *major > kMostMetricMajor) return not_a_thread(text);
    t.major = millimetres(*major);
    if (times == std::string_view::npos) {
      const auto* row =
          std::find_if(kCoarse.begin(), kCoarse.end(), [&](const Coarse& c) { return c.major == *major; });
      if (row == kCoarse.end()) {
        return fail(Fault::syntax, fmt::format("no coarse pitch is known for M{}", *major),
                    fmt::format("the pitch with it, as in M{}x0.5", *major));
      }
      t.pitch = millimetres(row->pitch);
      return t;
    }
    const auto pitch = number(rest.substr(times + 1));
    if (!pitch || *pitch <= 0) return not_a_thread(text);
    t.pitch = millimetres(*pitch);
    return checked(t);
  }
  if (!rest.empty() && rest.front() == '#') rest.remove_prefix(1);
  const std::size_t dash = rest.find('-');
  if (dash == std::string_view::npos) return not_a_thread(text);
  const auto size = whole_number(rest.substr(0, dash));
  const auto per_inch = whole_number(rest.substr(dash + 1));
  if (!size || !per_inch || *size > kMostInchNumber || *per_inch <= 0) return not_a_thread(text);
  t.system = ThreadSystem::inch;
  t.major = inches((60 + 13 * *size) / 1000.0);
  t.pitch = Length::of(kMillimetresPerInch / *per_inch);
  return checked(t);
}

Expected<Thread> make_thread(Length pitch, Length major, bool left_hand) {
  return checked({ThreadSystem::own, major, pitch, left_hand});
}

std::string designation(const Thread& t) {
  const char* hand = t.left_hand ? " LH" : "";
  if (t.system == ThreadSystem::metric) {
    return fmt::format("M{}x{}{}", in_millimetres(t.major), in_millimetres(t.pitch), hand);
  }
  if (t.system == ThreadSystem::inch) {
    const long size = std::lround((in_inches(t.major) * 1000 - 60) / 13);
    return fmt::format("{}-{}{}", size, std::lround(kMillimetresPerInch / in_millimetres(t.pitch)), hand);
  }
  return fmt::format("pitch {} mm, major diameter {} mm{}", in_millimetres(t.pitch), in_millimetres(t.major),
                     hand);
}

BasicProfile basic_profile(const Thread& t) {
  BasicProfile b;
  b.pitch_diameter = t.major - t.pitch * 0.649519;
  b.minor_internal = t.major - t.pitch * 1.082532;
  if (t.system == ThreadSystem::inch) {
    b.minor_external = t.major - t.pitch * 1.190786;
    const double d = (t.major - t.pitch * 0.9743).raw();
    b.stress_area = Area::of(kPi / 4 * d * d);
  } else {
    b.minor_external = t.major - t.pitch * 1.226869;
    const double d = ((b.pitch_diameter + b.minor_external) / 2).raw();
    b.stress_area = Area::of(kPi / 4 * d * d);
  }
  return b;
}

Length advance(const Thread& t, double turns) { return t.pitch * turns; }
double turns_for(const Thread& t, Length axial) { return axial / t.pitch; }
Turn turn_in(const Thread& t) { return t.left_hand ? Turn::anticlockwise : Turn::clockwise; }
Turn turn_out(const Thread& t) { return t.left_hand ? Turn::clockwise : Turn::anticlockwise; }

ThreadLimits basic_limits(const Thread& t) {
  const BasicProfile b = basic_profile(t);
  return {t.pitch, t.major, b.pitch_diameter, b.pitch_diameter, b.minor_internal, b.stress_area};
}

Area external_shear_area(const ThreadLimits& l, Length engagement) {
  return Area::of(engagement.raw() * per_length(l.internal_minor_max.raw(), l.pitch.raw(),
                                                (l.external_pitch_min - l.internal_minor_max).raw()));
}

Area internal_shear_area(const ThreadLimits& l, Length engagement) {
  return Area::of(engagement.raw() * per_length(l.external_major_min.raw(), l.pitch.raw(),
                                                (l.external_major_min - l.internal_pitch_max).raw()));
}

Length engagement_for_strength(const ThreadLimits& l) {
  const double each = external_shear_area(l, millimetres(1)).raw();
  if (each <= 0) return Length::of(std::numeric_limits<double>::infinity());
  return Length::of(2 * l.stress_area.raw() / each);
}

}  // namespace hingeline::mechanism
