#include "hingeline/drawing/plates.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

#include "hingeline/drawing/pen.h"
#include "hingeline/drawing/text.h"
#include "speech.h"

namespace hingeline::drawing {
namespace {

constexpr double kSheetWidth = 180;
constexpr double kMargin = 2;
constexpr double kRoom = kSheetWidth - 2 * kMargin;

const std::vector<double>& scales() {
  static const std::vector<double> steps = {0.05, 0.1, 0.2, 0.25, 0.4, 0.5, 0.75, 1,   1.5, 2,   2.5,
                                            3,    4,   5,   6,    8,   10,  12,   15,  20,  25,  30,
                                            40,   50,  80,  100,  150, 200, 300,  400, 500, 800, 1000};
  return steps;
}

/// A sheet with its title; drawn on below y().
class Plate {
 public:
  Plate(const std::string& title, const std::string& subtitle, const Tongue& tongue, LengthUnit unit)
      : pen(scene_), say(tongue, unit) {
    scene_.width = millimetres(kSheetWidth);
    scene_.title = title;
    pen.box({0, 0}, {kSheetWidth, 0}, Ink::none, Fill::paper);  // grows to the sheet below
    y_ = pen.lines({kMargin, 6}, wrapped(title, kTitleSize, kRoom, 2, true), kTitleSize, Anchor::start, true);
    y_ = pen.lines({kMargin, y_}, wrapped(subtitle, kTextSize, kRoom, 3));
    told_ = subtitle.empty() ? std::string() : subtitle + " ";
  }
  [[nodiscard]] double y() const { return y_; }
  /// Says it in the drawing's description too.
  std::string told(std::string words) {
    told_ += words + ". ";
    return words;
  }
  [[nodiscard]] std::string scaled(double scale) const { return say.with_mark(scale_words(scale)); }
  Scene done(double height) {
    scene_.height = millimetres(height);
    auto& sheet = std::get<Path>(scene_.shapes.front());
    for (const std::size_t corner : {2U, 3U}) sheet.spots[corner].y = scene_.height;
    scene_.description = told_;
    return std::move(scene_);
  }

 private:
  Scene scene_;
  double y_ = 0;
  std::string told_;

 public:
  Pen pen;
  Speech say;
};

/// 1, 2 or 5 times a power of ten, for 3 to 8 steps over the range.
double tick_step(double range) {
  const double power = std::pow(10.0, std::floor(std::log10(range / 3)));
  for (const double f : {5.0, 2.0}) {
    if (range / (f * power) >= 3) return f * power;
  }
  return power;
}

double mm_of(Length v) { return known(v) ? in_millimetres(v) : 0.0; }

/// A length upright, from one height to another, its words to the right.
void upright(Plate& plate, double x, double y1, double y2, const std::string& words) {
  const auto [top, bottom] = std::minmax(y1, y2);
  plate.pen.line({x, top}, {x, bottom}, Ink::thin);
  plate.pen.arrow({x, (top + bottom) / 2}, {x, top});
  plate.pen.arrow({x, (top + bottom) / 2}, {x, bottom});
  plate.pen.text({x + 1.5, (top + bottom) / 2 + 1}, words);
}

void level(Plate& plate, double x1, double x2, double y, const std::string& words) {
  plate.pen.measure(x1, x2, y);
  const double half = width_of(words, kTextSize) / 2;
  plate.pen.text({std::clamp((x1 + x2) / 2, kMargin + half, kSheetWidth - kMargin - half), y - 1}, words,
                 kTextSize, Anchor::middle);
}

/// What is to be said, line by line; returns where it ends.
double lines_below(Plate& plate, const std::vector<std::string>& words, double y) {
  for (const std::string& w : words)
    y = plate.pen.lines({kMargin, y}, wrapped(plate.told(w), kTextSize, kRoom, 2));
  return y;
}

}  // namespace

Scene draw_stack(const StackView& view) {
  Plate plate(view.title, view.subtitle, view.tongue, view.unit);
  constexpr double kPost = 5;  // width on paper
  constexpr double kMostAcross = 12;
  double along = 0;
  for (const StackView::Gap& g : view.gaps) along += mm_of(g.span);
  if (!(along > 0)) return plate.done(plate.y() + 4);
  const double posts = kPost * static_cast<double>(view.gaps.size() + 1);
  double scale = scale_at_most((kRoom - posts - 2) / along, scales());
  // Of a very long one the posts' signs give way.
  if (along * scale + posts > kRoom) scale = (kRoom - posts) / along;
  const double rod = std::min(kMostAcross / 2, std::max(0.8, mm_of(view.rod) * scale));
  const double tube = std::min(kMostAcross, 2 * rod + 1);
  const double left = kMargin + (kRoom - along * scale - posts) / 2;
  const double axis = plate.y() + 24;
  double x = left;
  const auto post = [&] {
    plate.pen.box({x, axis - tube * 0.8}, {x + kPost, axis + tube * 0.8 + 6}, Ink::line, Fill::post);
    x += kPost;
  };
  plate.pen.line({left - 1, axis}, {left + along * scale + posts + 1, axis}, Ink::axis);
  post();
  std::size_t row = 0;
  double lowest = axis + tube + 10;
  for (const StackView::Gap& g : view.gaps) {
    const double begin = x;
    const double end = x + mm_of(g.span) * scale;
    plate.pen.box({begin, axis - rod / 2}, {end, axis + rod / 2}, Ink::thin, Fill::screw);
    double at = begin;
    for (const StackView::Tube& t : g.tubes) {
      const double to = std::min(end, at + mm_of(t.length) * scale);
      if (to > at) {
        plate.pen.box({at, axis - tube / 2}, {to, axis + tube / 2}, Ink::line, Fill::key);
        const std::string name = shortened(t.name, kTextSize, to - at - 1);
        const double wide = width_of(name, kTextSize);
        if (name.size() > 3) {
          plate.pen.box({(at + to - wide) / 2 - 0.5, axis - 1.7}, {(at + to + wide) / 2 + 0.5, axis + 1.7},
                        Ink::none, Fill::paper);
          plate.pen.text({(at + to) / 2, axis + 1}, name, kTextSize, Anchor::middle);
        }
      }
      at = to;
    }
    for (const double edge : {begin, end})
      plate.pen.line({edge, axis - tube * 0.8}, {edge, axis - 13.5}, Ink::thin);
    level(plate, begin, end, axis - 12.5 - 4.5 * static_cast<double>(row % 2),
          plate.told(plate.say.sized(millimetres(mm_of(g.span)))));
    if (g.play && measured(*g.play)) {
      std::string words = plate.say(Word::play, plate.say.bench(*g.play));
      if (known(g.window_high))
        words += ", " + plate.say(Word::aimed_at, plate.say.bench(mm_or_0(g.window_low)),
                                  plate.say.bench(g.window_high));
      const double y = axis + tube + 10 + 4.2 * static_cast<double>(row);
      const double half = width_of(words, kTextSize) / 2;
      const double middle = std::clamp((begin + end) / 2, kMargin + half, kSheetWidth - kMargin - half);
      plate.pen.text({middle, y}, plate.told(words), kTextSize, Anchor::middle);
      plate.pen.line({(begin + end) / 2, axis + tube / 2}, {(begin + end) / 2, y - 3}, Ink::thin);
      lowest = y;
    }
    x = end;
    post();
    ++row;
  }
  std::string foot = plate.say(Word::across_scale, plate.scaled(scale));
  if (known(view.rod)) foot = plate.told(plate.say(Word::rod, plate.say.sized(view.rod))) + ", " + foot;
  plate.pen.text({kMargin, lowest + 6}, foot);
  return plate.done(lowest + 9);
}

Scene draw_cutter(const CutterView& view) {
  Plate plate(view.title, view.subtitle, view.tongue, view.unit);
  const double post = mm_of(view.post_diameter);
  const double head = mm_of(view.head_diameter);
  const double cutter = mm_of(view.cutter_diameter);
  const double thick = mm_of(view.post_thickness);
  const double across = std::max({post, cutter, head, 2 * mm_of(view.room_around) + head});
  if (!(across > 0)) return plate.done(plate.y() + 4);
  const double along = 2 * std::max(thick, across / 2) + mm_of(view.room_behind);
  const double scale = scale_at_most(std::min({58 / across, 100 / along, 52 / across}), scales());
  const double axis = plate.y() + 8 + across * scale / 2;
  const double half = across * scale / 2;

  // Along the screw.
  const Point centre = {kMargin + 6 + half, axis};
  if (post > 0) plate.pen.circle(centre, post * scale / 2, Ink::line, Fill::post);
  if (cutter > 0) plate.pen.circle(centre, cutter * scale / 2, Ink::cut, Fill::cut);
  if (head > 0) plate.pen.circle(centre, head * scale / 2, Ink::hidden, Fill::none);
  if (known(view.room_around))
    plate.pen.circle(centre, head * scale / 2 + mm_of(view.room_around) * scale, Ink::hidden, Fill::none);
  plate.pen.line({centre.x - half - 3, axis}, {centre.x + half + 3, axis}, Ink::axis);
  plate.pen.line({centre.x, axis - half - 3}, {centre.x, axis + half + 3}, Ink::axis);

  // From the side: the cutter comes from the left onto the post's outer face.
  const double face = kSheetWidth - kMargin - 8 - std::max(thick, across / 3) * scale;
  if (post > 0)
    plate.pen.box({face, axis - post * scale / 2},
                  {face + std::max(thick, post / 3) * scale, axis + post * scale / 2 + 4}, Ink::line,
                  Fill::post);
  const double cut = measured(view.cut) ? std::max(0.0, in_millimetres(view.cut)) : 0;
  if (cut > 0 && cutter > 0)
    plate.pen.box({face, axis - cutter * scale / 2},
                  {face + std::max(0.5, cut * scale), axis + cutter * scale / 2}, Ink::cut, Fill::cut);
  const double tool = std::min(0.5 * across * scale, 12.0);
  if (cutter > 0) {
    plate.pen.box({face - tool, axis - cutter * scale / 2}, {face, axis + cutter * scale / 2}, Ink::line,
                  Fill::screw);
    plate.pen.box({face - 2.4 * tool, axis - cutter * scale / 6}, {face - tool, axis + cutter * scale / 6},
                  Ink::line, Fill::paper);
  }
  double below = axis + half + 8;
  if (known(view.room_behind)) {
    const double behind = std::max(kMargin + 12 + 2 * half, face - mm_of(view.room_behind) * scale);
    plate.pen.line({behind, axis - half}, {behind, axis + half}, Ink::hidden);
    level(plate, behind, face, axis + half + 5,
          plate.told(plate.say(Word::room_behind, plate.say.sized(view.room_behind))));
    below += 4;
  }
  plate.pen.line({face - 2.4 * tool - 4, axis}, {kSheetWidth - kMargin, axis}, Ink::axis);

  std::vector<std::string> words;
  if (post > 0) words.push_back(plate.say(Word::post_of, plate.say.sized(view.post_diameter)));
  if (head > 0) words.push_back(plate.say(Word::head_of, plate.say.sized(view.head_diameter)));
  if (cutter > 0)
    words.push_back(plate.say(Word::cutter_of, plate.say.sized(view.cutter_diameter), view.cutter));
  else
    words.push_back(plate.say(Word::no_cutter));
  if (post > 0 && cutter > 0)
    words.push_back(
        plate.say(Word::wall_left, plate.say.sized((view.post_diameter - view.cutter_diameter) / 2)));
  if (cut > 0) words.push_back(plate.say(Word::cut_by, plate.say.bench(view.cut)));
  if (known(view.room_around))
    words.push_back(plate.say(Word::room_around, plate.say.sized(view.room_around)));
  if (!view.driver.empty()) words.push_back(plate.say(Word::by_driver, view.driver));
  words.push_back(plate.say(Word::scale, plate.scaled(scale)));
  return plate.done(lines_below(plate, words, below));
}

Scene draw_wedge(const WedgeView& view) {
  Plate plate(view.title, view.subtitle, view.tongue, view.unit);
  const double hole = mm_of(view.tone_hole);
  if (!(hole > 0)) return plate.done(plate.y() + 4);
  const double gap = measured(view.gap) ? std::max(0.0, in_millimetres(view.gap)) : 0;
  const double gives = std::min(gap, mm_of(view.take_up));
  const double land = mm_of(view.land);
  const double scale = scale_at_most(70 / (hole + 2 * std::max(land, 1.0)), scales());
  const double gap_scale = gap > 0 ? scale_at_most(14 / gap, scales()) : 1;
  const double width = hole * scale;
  const double wall = std::max(0.8, land * scale);
  const double left = kMargin + 4 + wall;
  const double rim = plate.y() + 30;
  const double rise = gap * gap_scale;
  // The pad touches at the left and stands open at the right.
  const auto face = [&](double x) { return rim - rise * (x - left) / width; };
  const double from = left - wall;
  const double to = left + width + wall;
  const auto slab = [&](double low, double high, Fill fill) {
    plate.pen.area(
        {{from, face(from) - low}, {to, face(to) - low}, {to, face(to) - high}, {from, face(from) - high}},
        Ink::line, fill);
  };
  slab(0, 3, Fill::pad);
  slab(3, 4.6, Fill::paper);
  for (const double x : {from, left + width})
    plate.pen.box({x, rim}, {x + wall, rim + 10}, Ink::line, Fill::post);
  if (gives > 0) {
    // What the pad takes up, as a second face.
    const double taken = gives * gap_scale;
    plate.pen.line({from, face(from) + taken * (from - left + width) / width},
                   {to, std::min(rim, face(to) + taken)}, Ink::hidden);
  }
  if (rise > 0) upright(plate, to + 3, face(to), rim, plate.told(plate.say.bench(view.gap)));
  for (const double x : {left, left + width}) plate.pen.line({x, rim + 10}, {x, rim + 14}, Ink::thin);
  level(plate, left, left + width, rim + 13.5,
        plate.told(plate.say(Word::tone_hole, plate.say.sized(view.tone_hole))));

  // The gap round the rim.
  const double plot_left = 112;
  const double plot_right = kSheetWidth - kMargin - 2;
  const double high = 20;
  const auto at = [&](double turn, double g) {
    return Point{plot_left + (plot_right - plot_left) * turn / (2 * std::numbers::pi),
                 rim - (gap > 0 ? g / gap : 0) * high};
  };
  plate.pen.text({plot_left, rim - high - 4}, plate.say(Word::gap_round), kTextSize, Anchor::start, true);
  plate.pen.line({plot_left, rim}, {plot_right, rim}, Ink::line);
  plate.pen.line({plot_left, rim}, {plot_left, rim - high - 2}, Ink::line);
  if (gap > 0) {
    constexpr int kParts = 72;
    Points wave;
    Points open;
    for (int i = 0; i <= kParts; ++i) {
      const double turn = 2 * std::numbers::pi * i / kParts;
      const double g = gap * (1 - std::cos(turn)) / 2;
      wave.push_back(at(turn, g));
      open.push_back(at(turn, std::max(0.0, g - gives)));
    }
    Points area = open;
    area.push_back({plot_right, rim});
    area.push_back({plot_left, rim});
    plate.pen.area(area, Ink::none, Fill::bind);
    plate.pen.path(wave, Ink::line);
    plate.pen.path(open, Ink::thin);
  }
  for (int quarter = 0; quarter <= 4; ++quarter) {
    const Point p = at(quarter * std::numbers::pi / 2, 0);
    plate.pen.line(p, {p.x, p.y + 1}, Ink::line);
    plate.pen.text({p.x, p.y + 4.2}, std::to_string(90 * quarter) + "°", kTextSize,
                   quarter == 0   ? Anchor::start
                   : quarter == 4 ? Anchor::end
                                  : Anchor::middle);
  }
  plate.pen.box({plot_left, rim + 7}, {plot_left + 6, rim + 10.6}, Ink::line, Fill::bind);
  plate.pen.text({plot_left + 7.2, rim + 9.8}, plate.say(Word::stays_open));

  double y = rim + 21;
  std::vector<std::string> words;
  if (known(view.land)) words.push_back(plate.say(Word::land, plate.say.sized(view.land)));
  if (known(view.take_up)) words.push_back(plate.say(Word::pad_gives, plate.say.bench(view.take_up)));
  if (!view.leak.empty()) words.push_back(plate.say(Word::leaks, view.leak));
  if (!view.as_hole.empty()) words.push_back(view.as_hole);
  std::string drawn = plate.say(Word::scale, plate.scaled(scale));
  if (gap > 0) drawn += ", " + plate.say(Word::gap_drawn, plate.scaled(gap_scale));
  words.push_back(drawn);
  return plate.done(lines_below(plate, words, y));
}

Scene draw_years(const YearsView& view) {
  Plate plate(view.title, view.subtitle, view.tongue, view.unit);
  const double now = measured(view.now) ? in_millimetres(view.now) : 0;
  const double edge = mm_of(view.window_high);
  const double low = measured(view.window_low) ? std::max(0.0, in_millimetres(view.window_low)) : 0;
  const double growth = mm_of(view.middle);
  double years = growth > 0 && edge > now ? 1.5 * (edge - now) / growth : 5;
  years = std::clamp(std::ceil(years), 1.0, 30.0);
  const double left = kMargin + 22;
  const double right = kSheetWidth - kMargin - 8;
  const double top = plate.y() + 5;
  const double bottom = top + 60;
  const double most = std::max({1.25 * edge, now + growth * years, now, 0.01}) * 1.1;
  const double least = std::min(0.0, now);
  const auto at = [&](double year, double play) {
    return Point{left + (right - left) * year / years,
                 std::clamp(bottom - (bottom - top) * (play - least) / (most - least), top, bottom)};
  };
  if (edge > low) {
    plate.pen.box(at(0, edge), {right, at(0, low).y}, Ink::thin, Fill::window);
    plate.pen.text({right - 1, at(0, edge).y - 1},
                   plate.told(plate.say(Word::aimed_at, plate.say.bench(low), plate.say.bench(edge))),
                   kTextSize, Anchor::end);
  }
  // A line leaves the sheet at its top, not at its corner.
  const auto until = [&](double rate) { return rate > 0 ? std::min(years, (most - now) / rate) : years; };
  for (const auto& [rate, ink] : {std::pair{view.slow, Ink::hidden}, std::pair{view.fast, Ink::hidden},
                                  std::pair{view.middle, Ink::line}}) {
    if (!known(rate)) continue;
    const double r = in_millimetres(rate);
    const double end = until(r);
    plate.pen.line(at(0, now), at(end, now + r * end), ink);
  }
  plate.pen.line({left, bottom}, {right, bottom}, Ink::line);
  plate.pen.line({left, bottom}, {left, top}, Ink::line);
  const double step = years <= 10 ? 1 : 5;
  for (double year = 0; year <= years + 1e-9; year += step) {
    const Point p = at(year, least);
    plate.pen.line({p.x, bottom}, {p.x, bottom + 1.2}, Ink::line);
    plate.pen.text({p.x, bottom + 5}, std::to_string(static_cast<int>(year)), kTextSize, Anchor::middle);
  }
  plate.pen.text({right, bottom + 9}, plate.say(Word::years), kTextSize, Anchor::end);
  const double unit = plate.say.unit() == LengthUnit::mm ? 1.0 : kMillimetresPerInch;
  const double mark = tick_step((most - least) / unit) * unit;
  for (double play = std::ceil(least / mark) * mark; play <= most; play += mark) {
    const Point p = at(0, play);
    plate.pen.line({left - 1.2, p.y}, {left, p.y}, Ink::line);
    plate.pen.text({left - 2, p.y + 1}, plate.say.bench(play), kTextSize, Anchor::end);
  }
  plate.pen.circle(at(0, now), 1.2, Ink::line, Fill::solid);
  plate.pen.text({kMargin, bottom + 9}, plate.told(plate.say(Word::today, plate.say.bench(now))));
  plate.pen.text({kMargin, bottom + 13}, plate.say(Word::likely_growth));
  return plate.done(bottom + 16);
}

}  // namespace hingeline::drawing
