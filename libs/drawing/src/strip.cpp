#include "hingeline/drawing/strip.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string_view>
#include <vector>

#include "hingeline/drawing/pen.h"
#include "hingeline/drawing/text.h"
#include "speech.h"

namespace hingeline::drawing {
namespace {

// The sheet, mm of paper.
constexpr double kSheetWidth = 180;
constexpr double kMargin = 2;
constexpr double kLensRadius = 19;
constexpr double kLensCentre = kMargin + kLensRadius + 1;  // from the sheet's edge
constexpr double kLensPost = 9;                            // post face, from the lens centre outwards
constexpr double kLensRange = 22;                          // what the gaps may take up, from the post face
constexpr double kWidestSpan = 146;
constexpr double kPostWidth = 7;
constexpr double kPostHead = 7;
constexpr double kPostFoot = 9;
constexpr double kTubeHalf = 3.2;
constexpr double kGaugeLeft = 14;
constexpr double kGaugeRight = kSheetWidth - 14;
constexpr double kBarLength = 38;
constexpr double kWedgeHeight = 4;  // of a pad's gap as drawn, at most

const std::vector<double>& strip_scales() {
  static const std::vector<double> steps = {0.001, 0.01, 0.05, 0.1, 0.2, 0.25, 1 / 3.0, 0.4, 0.5, 0.75, 1,
                                            1.5,   2,    2.5,  3,   4,   5,    6,       8,   10,  12,   15};
  return steps;
}
const std::vector<double>& lens_scales() {
  static const std::vector<double> steps = {0.01, 0.1, 0.5, 1,  2,  3,  4,  5,   8,  10,
                                            15,   20,  25,  30, 40, 50, 80, 100, 200};
  return steps;
}

/// Which way the cut at each end changes the end play: -1 takes it off, +1 gives more.
std::array<double, 2> cut_directions(const StripView& v) {
  const double upper = mm_or_0(v.upper.cut);
  const double lower = mm_or_0(v.lower.cut);
  const double now = mm_or_0(v.end_play);
  if (!v.end_play_after || !measured(*v.end_play_after)) {
    const double way = v.end_play < v.window_low ? 1 : -1;
    return {way, way};
  }
  const double change = in_millimetres(*v.end_play_after) - now;
  std::array<double, 2> best = {change > 0 ? 1.0 : -1.0, change > 0 ? 1.0 : -1.0};
  double nearest = std::abs(best[0] * upper + best[1] * lower - change);
  for (const double u : {-1.0, 1.0}) {
    for (const double l : {-1.0, 1.0}) {
      const double off = std::abs(u * upper + l * lower - change);
      if (off < nearest - 1e-9) {
        nearest = off;
        best = {u, l};
      }
    }
  }
  return best;
}

class StripDrawing {
 public:
  StripDrawing(const StripView& view, Scene& scene)
      : v_(view),
        pen_(scene),
        play_(mm_or_0(view.end_play)),
        free_(std::max(0.0, play_)),
        ways_(cut_directions(view)),
        say_(view.tongue, view.unit) {
    strip_scale_ = known(v_.span) ? scale_at_most(kWidestSpan / in_millimetres(v_.span), strip_scales()) : 1;
    double reach = 0;
    for (const StripEnd* end : {&v_.upper, &v_.lower})
      reach = std::max({reach, gap_home(*end) + std::max(free_, mm_or_0(end->cut)), std::abs(play_)});
    lens_scale_ = scale_at_most(reach > 0 ? kLensRange / reach : 100, lens_scales());
  }

  /// Returns where the drawing ends.
  double draw(double top) {
    const double lens_y = top + kLensRadius + 1;
    const double axis = lens_y + kLensRadius + 17;
    const bool strip = fits();
    double y = lens_y + kLensRadius + 3;
    if (strip) {
      key_and_posts(axis);
      y = axis + kPostFoot + 2;
    }
    for (const std::size_t side : {std::size_t{0}, std::size_t{1}}) {
      lens(side, lens_y);
      if (strip) rays(side, lens_y, axis);
      end_words(side, top);
    }
    if (v_.has_pad) y = pad(axis, y, strip);
    if (measured(v_.end_play)) y = gauge(y + 5);
    return legend(y + 3);
  }

  [[nodiscard]] double strip_scale() const { return strip_scale_; }
  [[nodiscard]] double lens_scale() const { return lens_scale_; }

 private:
  static double gap_home(const StripEnd& end) { return std::max(0.0, mm_or_0(end.gap_home)); }
  [[nodiscard]] const StripEnd& end(std::size_t side) const { return side == 0 ? v_.upper : v_.lower; }
  /// +1 from the upper post into the key, -1 from the lower.
  static double inwards(std::size_t side) { return side == 0 ? 1 : -1; }
  static double lens_x(std::size_t side) { return side == 0 ? kLensCentre : kSheetWidth - kLensCentre; }

  [[nodiscard]] std::string scaled(double scale) const { return say_.with_mark(scale_words(scale)); }

  // The strip.

  /// Whether key and posts find room on the sheet.
  [[nodiscard]] bool fits() const {
    return known(v_.span) && known(v_.key_length) && span_paper() <= kWidestSpan && key_end(0) > kMargin &&
           key_end(1) < kSheetWidth - kMargin;
  }
  [[nodiscard]] double span_paper() const { return in_millimetres(v_.span) * strip_scale_; }
  [[nodiscard]] double post_face(std::size_t side) const {
    return kSheetWidth / 2 - inwards(side) * span_paper() / 2;
  }
  [[nodiscard]] double key_paper() const { return in_millimetres(v_.key_length) * strip_scale_; }
  /// The key's upper end; with the key in the middle of its free range, but never beyond a post for the sake
  /// of a gap that does not agree with the other measures.
  [[nodiscard]] double key_begin() const {
    const double room = std::max(0.0, in_millimetres(v_.span - v_.key_length));
    return post_face(0) + std::clamp(gap_home(v_.upper) + play_ / 2, 0.0, room) * strip_scale_;
  }
  [[nodiscard]] double key_end(std::size_t side) const { return key_begin() + (side == 0 ? 0 : key_paper()); }

  void key_and_posts(double axis) {
    for (const std::size_t side : {std::size_t{0}, std::size_t{1}}) {
      const double face = post_face(side);
      const double back = face - inwards(side) * kPostWidth;
      const double middle = (face + back) / 2;
      const double top = axis - kPostHead;
      const double foot = axis + kPostFoot;
      Points outline = {{face, foot}, {face, top + 2}};
      constexpr int kParts = 8;
      for (int i = 1; i < kParts; ++i) {
        const double a = std::numbers::pi * i / kParts;
        outline.push_back({middle + (face - middle) * std::cos(a), top + 2 - 2 * std::sin(a)});
      }
      outline.push_back({back, top + 2});
      outline.push_back({back, foot});
      Points area = outline;
      const Points foot_line = {{back, foot}, {middle, foot + 1}, {face, foot}};
      area.push_back(foot_line[1]);
      pen_.area(area, Ink::none, Fill::post);
      pen_.path(outline, Ink::line);
      pen_.path(foot_line, Ink::thin);
    }
    pen_.box({key_end(0), axis - kTubeHalf}, {key_end(1), axis + kTubeHalf}, Ink::line, Fill::paper);
    for (const std::size_t side : {std::size_t{0}, std::size_t{1}}) {
      const double reach = std::min(5.0, key_paper() / 4);
      const double base = post_face(side);
      const double tip = key_end(side) + inwards(side) * reach;
      pen_.path({{base, axis - 1.6}, {tip, axis - 0.5}, {tip, axis + 0.5}, {base, axis + 1.6}}, Ink::hidden);
    }
    pen_.line({post_face(0) - kPostWidth - 3, axis}, {post_face(1) + kPostWidth + 3, axis}, Ink::axis);
    length_line(key_end(0), key_end(1), axis - kTubeHalf, axis - 6,
                say_(Word::key_long, say_.sized(v_.key_length)));
    length_line(post_face(0), post_face(1), axis - kPostHead, axis - 11,
                say_(Word::between_posts, say_.sized(v_.span), scaled(strip_scale_)));
  }

  void length_line(double x1, double x2, double from_y, double y, const std::string& words) {
    for (const double x : {x1, x2}) pen_.line({x, from_y - 0.6}, {x, y - 1}, Ink::thin);
    pen_.measure(x1, x2, y);
    const double half = width_of(words, kTextSize) / 2 + 1;
    const double middle = std::clamp((x1 + x2) / 2, kMargin + half, kSheetWidth - kMargin - half);
    pen_.box({middle - half, y - 1.4}, {middle + half, y + 1.4}, Ink::none, Fill::paper);
    pen_.text({middle, y + 1}, words, kTextSize, Anchor::middle);
  }

  // The lenses.

  void lens(std::size_t side, double y) {
    const double way = inwards(side);
    const double cx = lens_x(side);
    const double face = cx - way * kLensPost;
    const auto at = [&](double gap) { return face + way * gap * lens_scale_; };
    const double beyond = cx + way * (kLensRadius + 1);
    const std::size_t w = pen_.window({cx, y}, kLensRadius);
    const double half = 0.66 * kLensRadius;
    const double home = gap_home(end(side));
    const double away = home + free_;

    pen_.circle({cx, y}, kLensRadius, Ink::none, Fill::paper);
    pen_.box({cx - way * (kLensRadius + 1), y - kLensRadius - 1}, {face, y + kLensRadius + 1}, Ink::line,
             Fill::post, w);
    pen_.box({at(away), y - half}, {beyond, y + half}, Ink::line, Fill::key, w);
    if (free_ > 0) {
      pen_.box({at(home), y - half}, {at(away), y + half}, Ink::none, Fill::free_range, w);
      pen_.line({at(home), y - half}, {at(home), y + half}, Ink::hidden, w);
    }
    if (play_ < 0) {
      pen_.box({at(home + play_), y}, {at(home), y + half}, Ink::none, Fill::paper, w);
      pen_.box({at(home + play_), y}, {at(home), y + half}, Ink::line, Fill::bind, w);
    }
    if (known(end(side).cut)) {
      const double to = home - ways_[side] * in_millimetres(end(side).cut);
      pen_.box({at(home), y - half}, {at(to), y}, Ink::none, Fill::paper, w);
      pen_.box({at(home), y - half}, {at(to), y}, Ink::cut, Fill::cut, w);
    }
    pen_.line({cx - kLensRadius, y}, {cx + kLensRadius, y}, Ink::axis, w);
    pen_.circle({cx, y}, kLensRadius, Ink::line, Fill::none);
  }

  /// From the gap in the strip to its lens: both circles and their outer tangents.
  void rays(std::size_t side, double lens_y, double axis) {
    constexpr double kSmall = 2.4;
    const Point small = {(post_face(side) + key_end(side)) / 2, axis};
    const Point large = {lens_x(side), lens_y};
    pen_.circle(small, kSmall, Ink::thin, Fill::none);
    const double dx = large.x - small.x;
    const double dy = large.y - small.y;
    const double distance = std::hypot(dx, dy);
    if (!(distance > kLensRadius)) return;
    const double along = std::atan2(dy, dx);
    const double open = std::acos((kSmall - kLensRadius) / distance);
    for (const double a : {along + open, along - open}) {
      pen_.line({small.x + kSmall * std::cos(a), small.y + kSmall * std::sin(a)},
                {large.x + kLensRadius * std::cos(a), large.y + kLensRadius * std::sin(a)}, Ink::thin);
    }
  }

  void end_words(std::size_t side, double top) {
    const StripEnd& e = end(side);
    const double way = inwards(side);
    const double x = lens_x(side) + way * (kLensRadius + 3);
    const double room = std::abs(kSheetWidth / 2 - x) - 1.5;
    const Anchor anchor = side == 0 ? Anchor::start : Anchor::end;
    double y = top + 4;
    pen_.text({x, y}, say_(side == 0 ? Word::upper_end : Word::lower_end), kTextSize, anchor, true);
    y += kLineStep;
    pen_.text({x, y}, say_(Word::lens, scaled(lens_scale_)), kTextSize, anchor);
    y += kLineStep;
    if (measured(e.gap_home))
      y = pen_.lines({x, y}, wrapped(say_(Word::gap_home, say_.bench(e.gap_home)), kTextSize, room, 1),
                     kTextSize, anchor);
    if (known(e.cut)) {
      const std::string words = e.work.empty() ? say_(Word::take, say_.bench(e.cut)) : e.work;
      y = pen_.lines({x, y + 1}, wrapped(words, kTextSize, room, 2, true), kTextSize, anchor, true);
    } else if (!e.work.empty()) {
      y = pen_.lines({x, y + 1}, wrapped(e.work, kTextSize, room, 2, true), kTextSize, anchor, true);
    }
    if (!e.reserve || !measured(*e.reserve)) return;
    reserve_bar(side, x, y - 1.6);
    const std::string name = e.reserve_name.empty() ? std::string() : ": " + e.reserve_name;
    const std::string words =
        known(*e.reserve) ? say_(Word::reserve_left, say_.bench(*e.reserve)) : say_(Word::no_reserve);
    pen_.lines({x, y + 5}, wrapped(words + name, kTextSize, room, 2), kTextSize, anchor);
  }

  /// Metal to take and what remains after it, both ends to one scale.
  void reserve_bar(std::size_t side, double x, double y) {
    double longest = 0;
    for (const StripEnd* e : {&v_.upper, &v_.lower}) {
      if (e->reserve)
        longest = std::max(longest, std::max(0.0, mm_or_0(*e->reserve)) + std::max(0.0, mm_or_0(e->cut)));
    }
    if (!(longest > 0)) return;
    const double scale = kBarLength / longest;
    const double way = inwards(side);
    const double cut = x + way * std::max(0.0, mm_or_0(end(side).cut)) * scale;
    const double left = cut + way * std::max(0.0, mm_or_0(*end(side).reserve)) * scale;
    if (left != cut) pen_.box({cut, y}, {left, y + 2.6}, Ink::line, Fill::paper);
    if (cut != x) pen_.box({x, y}, {cut, y + 2.6}, Ink::cut, Fill::cut);
  }

  // The pad.

  [[nodiscard]] std::vector<std::string> pad_words() const {
    std::vector<std::string> out;
    if (measured(v_.side_gap)) out.push_back(say_(Word::side_gap, say_.bench(v_.side_gap)));
    if (measured(v_.worst_gap)) out.push_back(say_(Word::worst_gap, say_.bench(v_.worst_gap)));
    if (known(v_.pad_gap_allowed)) {
      std::string words = say_(Word::allowed, say_.bench(v_.pad_gap_allowed));
      if (measured(v_.worst_gap))
        words += say_(v_.worst_gap > v_.pad_gap_allowed ? Word::too_much : Word::within_it);
      out.push_back(words);
    }
    if (measured(v_.pad_offset) && abs(v_.pad_offset) >= millimetres(0.0005)) {
      out.push_back(say_(Word::pad_off, say_.bench(abs(v_.pad_offset))));
      out.push_back(say_(v_.pad_offset > Length() ? Word::towards_lower : Word::towards_upper));
    }
    return out;
  }

  double pad(double axis, double top, bool strip) {
    std::vector<std::string> words = pad_words();
    const double width = known(v_.tone_hole) ? in_millimetres(v_.tone_hole) * strip_scale_ : 0;
    const double x =
        strip && measured(v_.pad_station) ? key_begin() + in_millimetres(v_.pad_station) * strip_scale_ : -1;
    const double half = width / 2 + 1.5;
    const double hole = x - (measured(v_.pad_offset) ? in_millimetres(v_.pad_offset) * strip_scale_ : 0);
    const double reach = half + 6;
    const bool on_sheet = width >= 2 && std::abs(x - hole) < width && std::min(x, hole) - reach > kMargin &&
                          std::max(x, hole) + reach < kSheetWidth - kMargin;
    if (!on_sheet) return words.empty() ? top : pen_.lines({kMargin, top + 5}, words);

    double gap = std::max(0.0, mm_or_0(v_.side_gap));
    if (gap > in_millimetres(v_.tone_hole)) gap = 0;  // no pad on its tone hole stands like that
    const double gap_scale = scale_at_most(gap > 0 ? kWedgeHeight / gap : 1, lens_scales());
    const double rise = gap * gap_scale;  // over the tone hole's width
    const double rim = top + 13;
    // The pad touches the rim of its tone hole towards the upper post.
    const auto face_y = [&](double at_x) { return rim - rise * (at_x - (hole - width / 2)) / width; };
    const auto slab = [&](double from, double to, double inset, Fill fill) {
      pen_.area({{x - half + inset, face_y(x - half) - from},
                 {x + half - inset, face_y(x + half) - from},
                 {x + half - inset, face_y(x + half) - to},
                 {x - half + inset, face_y(x - half) - to}},
                Ink::line, fill);
    };
    const double arm = std::min(1.2, half / 3);
    const double cup_top = face_y(x) - 3.4;
    if (axis + kTubeHalf < cup_top && x - arm > key_end(0) && x + arm < key_end(1))
      pen_.box({x - arm, axis + kTubeHalf}, {x + arm, cup_top}, Ink::line, Fill::paper);
    slab(0, 2, 0.4, Fill::pad);
    slab(2, 3.4, 0, Fill::paper);
    for (const double side : {-1.0, 1.0}) {
      const double wall = hole + side * width / 2;
      pen_.box({wall, rim}, {wall + side * 0.8, rim + 4}, Ink::line, Fill::post);
    }
    pen_.line({hole - reach, rim + 4}, {hole - width / 2 - 0.8, rim + 4}, Ink::line);
    pen_.line({hole + width / 2 + 0.8, rim + 4}, {hole + reach, rim + 4}, Ink::line);
    pen_.line({hole, rim - rise - 1}, {hole, rim + 6}, Ink::axis);

    if (gap > 0) words.push_back(say_(Word::gap_drawn, scaled(gap_scale)));
    words.insert(words.begin(), say_(Word::tone_hole, say_.sized(v_.tone_hole)));
    double widest = 0;
    for (const std::string& w : words) widest = std::max(widest, width_of(w, kTextSize));
    const double right = std::max(x, hole) + half + 8;
    const double left = std::min(x, hole) - half - 8;
    const double words_top = rim - 9;
    if (right + widest < kSheetWidth - kMargin) {
      return std::max(rim + 7, pen_.lines({right, words_top}, words));
    }
    if (left - widest > kMargin) {
      return std::max(rim + 7, pen_.lines({left, words_top}, words, kTextSize, Anchor::end));
    }
    return pen_.lines({kSheetWidth / 2, rim + 10}, words, kTextSize, Anchor::middle);
  }

  // End play and what is aimed at.

  double gauge(double top) {
    const double now = in_millimetres(v_.end_play);
    const double pm = known(v_.end_play_pm) ? in_millimetres(v_.end_play_pm) : 0;
    const bool window = measured(v_.window_low) && measured(v_.window_high) && v_.window_high > v_.window_low;
    const bool after = v_.end_play_after && measured(*v_.end_play_after);
    double low = std::min(0.0, now - pm);
    double high = std::max(0.0, now + pm);
    const auto take_in = [&](Length v) {
      low = std::min(low, in_millimetres(v));
      high = std::max(high, in_millimetres(v));
    };
    if (window) take_in(v_.window_low);
    if (window) take_in(v_.window_high);
    if (after) take_in(*v_.end_play_after);
    const double shown_unit = v_.unit == LengthUnit::mm ? 1.0 : kMillimetresPerInch;
    if (high - low < 0.01) high = low + 0.01;
    const double step = tick_step((high - low) / shown_unit) * shown_unit;
    low = std::floor(low / step + 1e-9) * step;
    high = std::ceil(high / step - 1e-9) * step;
    const double scale = (kGaugeRight - kGaugeLeft) / (high - low);
    const auto at = [&](double play) { return kGaugeLeft + (play - low) * scale; };

    pen_.text({kMargin, top}, say_(Word::end_play), kTextSize, Anchor::start, true);
    const double entries = kMargin + width_of(say_(Word::end_play), kTextSize, true) + 5;
    double x = entries;
    const auto entry = [&](const auto& sign, const std::string& words) {
      const double width = 5 + width_of(words, kTextSize);
      if (x > entries && x + width > kSheetWidth - kMargin) {
        x = entries;
        top += kLineStep + 0.5;
      }
      sign(x + 2, top - 1);
      pen_.text({x + 5, top}, words);
      x += width + 5;
    };
    const auto now_sign = [&](double cx, double cy) {
      pen_.area({{cx - 1.3, cy}, {cx, cy - 1.7}, {cx + 1.3, cy}, {cx, cy + 1.7}}, Ink::none, Fill::solid);
    };
    const auto after_sign = [&](double cx, double cy) { pen_.circle({cx, cy}, 1.3, Ink::line, Fill::paper); };
    const auto window_sign = [&](double cx, double cy) {
      pen_.box({cx - 2, cy - 1.5}, {cx + 2, cy + 1.5}, Ink::thin, Fill::window);
    };
    std::string now_words = say_(Word::now_figure, say_.bench(v_.end_play));
    if (pm > 0) now_words += " ± " + say_.bench(v_.end_play_pm);
    if (now < 0) now_words += say_(Word::binds);
    entry(now_sign, now_words);
    if (after) entry(after_sign, say_(Word::after_figure, say_.bench(*v_.end_play_after)));
    if (window)
      entry(window_sign, say_(Word::aimed_at, say_.bench(v_.window_low), say_.bench(v_.window_high)));

    const double y = top + 8;
    if (low < 0) pen_.box({at(low), y - 2.4}, {at(0), y + 2.4}, Ink::none, Fill::bind);
    if (window)
      pen_.box({at(in_millimetres(v_.window_low)), y - 3}, {at(in_millimetres(v_.window_high)), y + 3},
               Ink::thin, Fill::window);
    pen_.line({kGaugeLeft, y}, {kGaugeRight, y}, Ink::line);
    const int ticks = static_cast<int>(std::lround((high - low) / step));
    for (int i = 0; i <= ticks; ++i) {
      const double value = low + i * step;
      pen_.line({at(value), y - 1}, {at(value), y + 1}, Ink::line);
      pen_.text({at(value), y + 6.4},
                say_.with_mark(fmt::format("{:.4g}", std::abs(value) < step / 2 ? 0.0 : value / shown_unit)),
                kTextSize, Anchor::middle);
    }
    pen_.text({kSheetWidth - kMargin, y + 6.4}, v_.unit == LengthUnit::mm ? "mm" : "in", kTextSize,
              Anchor::end);
    if (pm > 0) {
      pen_.line({at(now - pm), y}, {at(now + pm), y}, Ink::line);
      for (const double side : {now - pm, now + pm})
        pen_.line({at(side), y - 1.8}, {at(side), y + 1.8}, Ink::line);
    }
    now_sign(at(now), y);
    if (after) after_sign(at(in_millimetres(*v_.end_play_after)), y);
    return y + 9;
  }

  /// 1, 2 or 5 times a power of ten, for 4 to 10 steps over the range.
  static double tick_step(double range) {
    const double power = std::pow(10.0, std::floor(std::log10(range / 4)));
    for (const double f : {5.0, 2.0}) {
      if (range / (f * power) >= 4) return f * power;
    }
    return power;
  }

  double legend(double top) {
    pen_.line({kMargin, top}, {kSheetWidth - kMargin, top}, Ink::thin);
    const double y = top + 3;
    double x = kMargin;
    const auto entry = [&](Fill fill, Ink ink, std::string_view words) {
      pen_.box({x, y}, {x + 6, y + 3.6}, ink, fill);
      pen_.text({x + 7.2, y + 2.8}, words);
      x += 7.2 + width_of(words, kTextSize) + 5;
    };
    entry(Fill::post, Ink::line, say_(Word::post));
    entry(Fill::key, Ink::line, say_(Word::key));
    if (free_ > 0) entry(Fill::free_range, Ink::thin, say_(Word::free_range));
    if (play_ < 0) entry(Fill::bind, Ink::line, say_(Word::overlap));
    if (known(v_.upper.cut) || known(v_.lower.cut)) entry(Fill::cut, Ink::cut, say_(Word::metal_to_take));
    if (v_.upper.reserve || v_.lower.reserve) entry(Fill::paper, Ink::line, say_(Word::reserve));
    return y + 6;
  }

  const StripView& v_;
  Pen pen_;
  double play_;  // mm; 0 when not known
  double free_;
  std::array<double, 2> ways_;
  Speech say_;
  double strip_scale_ = 1;
  double lens_scale_ = 1;
};

std::string told(const StripView& v, double strip_scale, double lens_scale) {
  const Speech say(v.tongue, v.unit);
  const auto scaled = [&](double scale) { return say.with_mark(scale_words(scale)); };
  std::string out = v.verdict.empty() ? "" : v.verdict + ". ";
  if (!v.sentence.empty()) out += v.sentence + " ";
  if (known(v.key_length)) out += say(Word::key_long, say.sized(v.key_length)) + ". ";
  if (known(v.span)) out += say(Word::between_posts, say.sized(v.span), scaled(strip_scale)) + ". ";
  if (measured(v.end_play)) {
    out += say(Word::end_play) + ": " + say(Word::now_figure, say.bench(v.end_play));
    if (known(v.end_play_pm)) out += " ± " + say.bench(v.end_play_pm);
    if (v.end_play_after && measured(*v.end_play_after))
      out += "; " + say(Word::after_figure, say.bench(*v.end_play_after));
    out += ". ";
  }
  const std::array<const StripEnd*, 2> ends = {&v.upper, &v.lower};
  for (std::size_t side = 0; side < ends.size(); ++side) {
    const StripEnd& e = *ends[side];
    out += say(side == 0 ? Word::upper_end : Word::lower_end) + ":";
    if (measured(e.gap_home)) out += " " + say(Word::gap_home, say.bench(e.gap_home)) + ";";
    if (known(e.cut)) out += " " + say(Word::metal_to_take) + " " + say.bench(e.cut) + ";";
    if (!e.work.empty()) out += " " + e.work + ";";
    if (e.reserve && measured(*e.reserve)) {
      out += " " + say(Word::reserve_left, say.bench(*e.reserve));
      if (!e.reserve_name.empty()) out += ", " + e.reserve_name;
      out += ";";
    }
    out.back() = '.';
    out += " ";
  }
  if (v.has_pad && measured(v.side_gap)) out += say(Word::side_gap, say.bench(v.side_gap)) + ". ";
  if (v.has_pad && measured(v.worst_gap)) out += say(Word::worst_gap, say.bench(v.worst_gap)) + ". ";
  return out + say(Word::lens, scaled(lens_scale)) + ".";
}

}  // namespace

Scene draw_hinge_strip(const StripView& view) {
  Scene scene;
  Pen pen(scene);
  const double room = kSheetWidth - 2 * kMargin;
  scene.width = millimetres(kSheetWidth);
  scene.title = view.title;
  pen.box({0, 0}, {kSheetWidth, 0}, Ink::none, Fill::paper);  // grows to the sheet below
  double y = pen.lines({kMargin, 6}, wrapped(view.title, kTitleSize, room, 2, true), kTitleSize,
                       Anchor::start, true);
  y = pen.lines({kMargin, y}, wrapped(view.verdict, kHeadSize, room, 2, true), kHeadSize, Anchor::start,
                true);
  y = pen.lines({kMargin, y}, wrapped(view.sentence, kTextSize, room, 4));
  StripDrawing drawing(view, scene);
  y = drawing.draw(y);

  scene.height = millimetres(y);
  auto& sheet = std::get<Path>(scene.shapes.front());
  for (const std::size_t corner : {2U, 3U}) sheet.spots[corner].y = scene.height;
  scene.description = told(view, drawing.strip_scale(), drawing.lens_scale());
  return scene;
}

}  // namespace hingeline::drawing
