#include "joint_drawing.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string>

#include "hingeline/drawing/text.h"

namespace hingeline::drawing {
namespace {

constexpr double kBreakDepth = 0.9;   // of a break line
constexpr double kContactLine = 0.9;  // its width

bool on_face(const JointView& view) { return view.regime == "face" || view.regime == "post face"; }

/// Text above a joint with a leader to the place it speaks of.
struct Note {
  Point target;
  std::vector<std::string> words;
  bool post_side = false;
};

class JointDrawing {
 public:
  JointDrawing(Pen& pen, const Panel& panel, const Frame& frame, const Speech& say)
      : pen_(pen), panel_(panel), shape_(panel.shape), frame_(frame), say_(say) {}

  void parts() {
    post();
    if (!shape_.hole.empty() || shape_.rod) key();
    if (!shape_.point.empty()) screw();
    if (shape_.rod) rod();
    taken();
    pen_.line(frame_.at(shape_.first(), 0, -3), frame_.at(shape_.last(), 0, 3), Ink::axis);
    contact();
  }

  /// Notes above, from `top`; returns where they end.
  double notes(double top) {
    std::vector<Note> notes = collect_notes();
    std::stable_sort(notes.begin(), notes.end(), [&](const Note& a, const Note& b) {
      return frame_.into_key(a.target.x) < frame_.into_key(b.target.x);
    });
    // The farther into the key, the lower: so no leader crosses the words of another note.
    double y = top;
    double post_end = top;
    double left_free = 1;
    for (const Note& note : notes) {
      if (note.post_side) {
        post_end = post_note(note, top);
        continue;
      }
      y = key_note(note, y, left_free);
      left_free = frame_.into_key(note.target.x) + 2;
    }
    return std::max(y, post_end);
  }

  void dimensions() {
    if (shape_.empty()) return;
    double y = frame_.axis() + shape_.half_height() * frame_.scale() + kPostFoot + 4;
    const double foot = -shape_.post_radius;
    if (measured(panel_.view->face_gap)) {
      extension(0, foot, y);
      extension(shape_.gap, -shape_.key_radius, y);
      dimension(say_(Word::face_gap, say_.bench(panel_.view->face_gap)), 0, shape_.gap, 0, y);
    }
    if (shape_.rod || shape_.point.empty()) return;
    const double tip = shape_.protrusion();
    if (shape_.insertion > 0) {
      y += kDimensionStep;
      extension(0, foot, y + kDimensionStep);
      extension(shape_.gap, -shape_.key_radius, y);
      extension(tip, 0, y + kDimensionStep);
      dimension(say_(Word::insertion, say_.bench(shape_.insertion)), shape_.gap, tip, 0, y);
    }
    y += kDimensionStep;
    extension(tip, 0, y);
    dimension(say_(Word::protrusion, say_.bench(tip)), 0, tip, 0, y);
    if (!shape_.floor_shown) return;
    y += kDimensionStep;
    const double floor = shape_.gap + shape_.floor;
    extension(tip, 0, y);
    extension(floor, 0, y);
    dimension(say_(Word::tip_to_floor, say_.bench(floor - tip)), tip, floor, tip, y);
  }

 private:
  /// Across the joint at the key's inner end, from v1 to v2.
  Points break_line(double v1, double v2) const {
    Points out;
    constexpr int kParts = 16;
    for (int i = 0; i <= kParts; ++i) {
      const double v = v1 + (v2 - v1) * i / kParts;
      out.push_back(at_break(v));
    }
    return out;
  }
  [[nodiscard]] Point at_break(double v) const {
    return frame_.at(shape_.last(), v, std::sin(std::numbers::pi * v / shape_.key_radius) * kBreakDepth);
  }

  void post() {
    const double r = shape_.post_radius;
    const double foot = -r - kPostFoot / frame_.scale();
    const double round = 0.35 * std::min(r, shape_.post_length);
    Points outline;
    outline.push_back(frame_.at(0, foot));
    const auto corner = [&](double u, double from) {
      constexpr int kParts = 6;
      for (int i = 0; i <= kParts; ++i) {
        const double a = from + std::numbers::pi / 2 * i / kParts;
        outline.push_back(frame_.at(u + round * std::cos(a), r - round + round * std::sin(a)));
      }
    };
    corner(-round, 0);
    if (shape_.post_broken) {
      outline.push_back(frame_.at(-shape_.post_length, r));
    } else {
      corner(-shape_.post_length + round, std::numbers::pi / 2);
    }
    const Point end = frame_.at(-shape_.post_length, foot);
    const Point begin = outline.front();
    Points whole = outline;
    whole.push_back(end);
    // The foot is broken off.
    const Points foot_line = {end,
                              {end.x + (begin.x - end.x) * 0.42, end.y},
                              {end.x + (begin.x - end.x) * 0.47, end.y - 1},
                              {end.x + (begin.x - end.x) * 0.53, end.y + 1},
                              {end.x + (begin.x - end.x) * 0.58, end.y},
                              begin};
    Points area = outline;
    area.insert(area.end(), foot_line.begin(), foot_line.end() - 1);
    pen_.area(area, Ink::none, Fill::post);
    pen_.path(foot_line, Ink::thin);
    pen_.path(outline, Ink::line);
    const bool sure = shape_.post_length_known && !shape_.post_broken;
    pen_.line(outline.back(), end, sure ? Ink::line : Ink::hidden);
    // What the screw leaves open.
    if (shape_.body_radius > 0) hollow(-shape_.post_length, 0, shape_.body_radius);
    if (shape_.headed && !shape_.post_broken)
      hollow(-shape_.post_length, -(shape_.post_length - shape_.seat), shape_.head_radius);
  }

  void hollow(double u1, double u2, double r) {
    pen_.box(frame_.at(u1, r), frame_.at(u2, -r), Ink::line, Fill::paper);
  }

  void key() {
    const double r = shape_.key_radius;
    Points body = {frame_.at(shape_.gap, r)};
    const Points end = break_line(r, -r);
    body.insert(body.end(), end.begin(), end.end());
    body.push_back(frame_.at(shape_.gap, -r));
    pen_.area(body, Ink::none, Fill::key);
    const Ink outside = shape_.key_radius_known ? Ink::line : Ink::hidden;
    for (const double side : {1.0, -1.0})
      pen_.line(frame_.at(shape_.gap, side * r), frame_.at(shape_.last(), side * r), outside);
    pen_.path(end, Ink::thin);
    pen_.line(body.front(), body.back(), Ink::line);

    // An open end is broken off with the key itself.
    const bool open = shape_.rod || !shape_.floor_shown;
    Points above;
    Points below;
    const auto both = [&](double u, double v) {
      above.push_back(frame_.at(u, v));
      below.push_back(frame_.at(u, -v));
    };
    if (shape_.rod) both(shape_.gap, shape_.bore_radius);
    for (const Point& p : shape_.hole) {
      if (p.x <= shape_.key_shown) both(shape_.gap + p.x, p.y);
    }
    Points contour;
    if (open) {
      const double radius = shape_.rod ? shape_.bore_radius : radius_at(shape_.hole, shape_.key_shown);
      above.push_back(at_break(radius));
      below.push_back(at_break(-radius));
      contour = above;
      const Points edge = break_line(radius, -radius);
      contour.insert(contour.end(), edge.begin(), edge.end());
    } else {
      contour = above;
    }
    contour.insert(contour.end(), below.rbegin(), below.rend());
    pen_.area(contour, Ink::none, Fill::paper);
    if (open) {
      pen_.path(above, Ink::line);
      pen_.path(below, Ink::line);
    } else {
      pen_.path(contour, Ink::line);
    }
  }

  void screw() {
    const double tip = shape_.protrusion();
    Points half;  // u, v above the axis, from the tip back
    half.push_back({tip, 0});
    for (const Point& p : shape_.point) half.push_back({tip - p.x, p.y});
    if (half.back().x > 0) half.push_back({0, half.back().y});
    const double rear = shape_.post_broken ? -shape_.post_length
                        : shape_.headed    ? -(shape_.post_length - shape_.seat)
                                           : -0.9 * shape_.post_length;
    if (half.back().y < shape_.body_radius) half.push_back({half.back().x, shape_.body_radius});
    half.push_back({std::min(rear, half.back().x), shape_.body_radius});
    double end = half.back().x;
    if (shape_.headed && !shape_.post_broken) {
      half.push_back({rear, shape_.head_radius});
      half.push_back({rear - shape_.head_height, shape_.head_radius});
      end = rear - shape_.head_height;
    }
    Points outline;
    for (const Point& p : half) outline.push_back(frame_.at(p.x, p.y));
    std::reverse(half.begin(), half.end());
    for (const Point& p : half) outline.push_back(frame_.at(p.x, -p.y));
    pen_.area(outline, Ink::line, Fill::screw);
    thread(rear, std::min(0.0, tip - shape_.point.back().x));
    if (shape_.post_broken) return;
    const double slot = shape_.headed ? 0.45 * shape_.head_height : 0.15 * shape_.post_length;
    const double half_slot = 0.16 * (shape_.headed ? shape_.head_radius : shape_.body_radius);
    pen_.box(frame_.at(end, half_slot), frame_.at(end + slot, -half_slot), Ink::line, Fill::paper);
  }

  /// Thin lines inside the outline, as a thread is drawn in section.
  void thread(double from, double to) {
    if (to <= from) return;
    for (const double side : {0.84, -0.84})
      pen_.line(frame_.at(from, side * shape_.body_radius), frame_.at(to, side * shape_.body_radius),
                Ink::thin);
  }

  void rod() {
    const double r = shape_.rod_radius;
    Points outline = break_line(r, -r);
    outline.push_back(frame_.at(-shape_.post_length, -r));
    outline.push_back(frame_.at(-shape_.post_length, r));
    pen_.area(outline, Ink::line, Fill::screw);
  }

  /// Metal that is gone, over what lies there now.
  void taken() {
    const auto gone = [&](const Points& area) {
      pen_.area(area, Ink::none, Fill::paper);
      pen_.area(area, Ink::cut, Fill::cut);
    };
    const Taken& t = panel_.taken;
    for (const double side : {1.0, -1.0}) {
      if (t.seat > 0) {
        const double seat_now = -(shape_.post_length - shape_.seat);
        gone({frame_.at(seat_now - t.seat, side * shape_.body_radius),
              frame_.at(seat_now, side * shape_.body_radius), frame_.at(seat_now, side * shape_.head_radius),
              frame_.at(seat_now - t.seat, side * shape_.head_radius)});
      }
      if (t.faced > 0) {
        const double mouth = radius_at(shape_.hole, 0);
        gone({frame_.at(shape_.gap - t.faced, side * mouth), frame_.at(shape_.gap, side * mouth),
              frame_.at(shape_.gap, side * shape_.key_radius),
              frame_.at(shape_.gap - t.faced, side * shape_.key_radius)});
      }
      if (t.opened > 0) gone(opened(side));
    }
  }

  Points opened(double side) const {
    const Taken& t = panel_.taken;
    Points area;
    const auto along = [&](const HalfContour& contour, bool back) {
      Points part = {frame_.at(shape_.gap + t.opened_from, side * radius_at(contour, t.opened_from))};
      for (const Point& p : contour) {
        if (p.x > t.opened_from && p.x < t.opened_to) part.push_back(frame_.at(shape_.gap + p.x, side * p.y));
      }
      // Just before the end, where a floor may begin.
      const double end = t.opened_to - 1e-9;
      part.push_back(frame_.at(shape_.gap + end, side * radius_at(contour, end)));
      if (back) std::reverse(part.begin(), part.end());
      area.insert(area.end(), part.begin(), part.end());
    };
    along(shape_.hole, false);
    along(t.hole_was, true);
    return area;
  }

  void contact() {
    const JointView& v = *panel_.view;
    if (shape_.rod || shape_.hole.empty() || !rides(v)) return;
    if (on_face(v)) {
      const double outer = std::min(shape_.key_radius, shape_.post_radius);
      for (const double side : {1.0, -1.0})
        pen_.line(frame_.at(shape_.gap, side * radius_at(shape_.hole, 0)),
                  frame_.at(shape_.gap, side * outer), Ink::contact);
      return;
    }
    if (!measured(v.touch_depth)) return;
    const double depth = in_millimetres(v.touch_depth);
    if (depth < 0 || depth > shape_.key_shown) return;
    const double half = known(v.touch_length) ? in_millimetres(v.touch_length) / 2 : 0;
    for (const double side : {1.0, -1.0}) {
      if (half > 0) {
        const double from = std::max(0.0, depth - half);
        const double to = std::min({shape_.hole_depth(), shape_.key_shown, depth + half}) - 1e-9;
        // Inside the point, so that the line between the two stays to be seen.
        const double in = kContactLine / 2 / frame_.scale();
        pen_.line(frame_.at(shape_.gap + from, side * (radius_at(shape_.hole, from) - in)),
                  frame_.at(shape_.gap + to, side * (radius_at(shape_.hole, to) - in)), Ink::contact);
      } else {
        pen_.circle(frame_.at(shape_.gap + depth, side * touch_radius()), kContactDot, Ink::none,
                    Fill::contact);
        if (touch_radius() == 0) break;
      }
    }
  }

  double touch_radius() const {
    const Length r = panel_.view->touch_radius;
    return measured(r) ? std::clamp(in_millimetres(r), 0.0, shape_.key_radius) : 0.0;
  }

  std::vector<Note> collect_notes() const {
    std::vector<Note> notes;
    const Taken& t = panel_.taken;
    if (t.seat > 0) {
      const double seat_now = -(shape_.post_length - shape_.seat);
      notes.push_back({frame_.at(seat_now - t.seat / 2, shape_.head_radius),
                       {say_(Word::seat_deeper, say_.bench(t.seat))},
                       true});
    }
    if (t.faced > 0)
      notes.push_back({frame_.at(shape_.gap - t.faced / 2, shape_.key_radius),
                       {say_(Word::end_shorter, say_.bench(t.faced))},
                       false});
    if (t.opened > 0) {
      const double middle = t.opened_from + 0.2 * (t.opened_to - t.opened_from);
      notes.push_back({frame_.at(shape_.gap + middle,
                                 (radius_at(shape_.hole, middle) + radius_at(t.hole_was, middle)) / 2),
                       {say_(Word::hole_wider, say_.bench(2 * t.opened))},
                       false});
    }
    const JointView& v = *panel_.view;
    const std::string words = riding(v, say_);
    if (words.empty() || (shape_.hole.empty() && !shape_.rod)) return notes;
    Note note{{}, {words}, false};
    const std::string figures = joined(riding_figures(v, shape_, say_), ", ");
    if (!figures.empty()) note.words.push_back(figures);
    if (shape_.rod) {
      note.target =
          frame_.at(shape_.gap + 0.4 * shape_.key_shown, (shape_.rod_radius + shape_.bore_radius) / 2);
    } else if (on_face(v)) {
      note.target = frame_.at(shape_.gap, shape_.key_radius * 0.9);
    } else {
      const double depth = std::clamp(mm_or_0(v.touch_depth), 0.0, shape_.key_shown);
      const bool edge = !known(v.touch_length);
      note.target = frame_.at(shape_.gap + depth, edge ? touch_radius() : radius_at(shape_.hole, depth));
    }
    notes.push_back(note);
    return notes;
  }

  /// Returns where it ends.
  double post_note(const Note& note, double top) {
    const double x = frame_.from_face(-2);
    const std::vector<std::string> words =
        wrapped(joined(note.words, " "), kTextSize, frame_.room().post - 4, 3);
    const double end = pen_.lines({x, top}, words, kTextSize, frame_.to_post());
    const double shelf = end - kLineStep + 1;
    const double shelf_end = frame_.from_face(-2 - widest(words));
    pen_.line({x, shelf}, {shelf_end, shelf}, Ink::thin);
    pen_.arrow({std::clamp(note.target.x, std::min(x, shelf_end), std::max(x, shelf_end)), shelf},
               note.target);
    return end;
  }

  /// Returns where the next note begins.
  double key_note(const Note& note, double y, double left_free) {
    const double target = frame_.into_key(note.target.x);
    const double room = frame_.room().key - left_free - 1;
    std::vector<std::string> words;
    for (const std::string& w : note.words) {
      const std::vector<std::string> some = wrapped(w, kTextSize, room, 3);
      words.insert(words.end(), some.begin(), some.end());
    }
    const double width = widest(words);
    const double begin =
        std::clamp(target + 0.01, left_free, std::max(left_free, frame_.room().key - width - 1));
    const double x = frame_.from_face(begin);
    const double next = pen_.lines({x, y}, words, kTextSize, frame_.from_post());
    const double shelf = next - kLineStep + 1;
    pen_.line({x, shelf}, {frame_.from_face(begin + width), shelf}, Ink::thin);
    pen_.arrow({frame_.from_face(std::clamp(target, begin, begin + width)), shelf}, note.target);
    return next + 1.2;
  }

  static double widest(const std::vector<std::string>& words) {
    double width = 0;
    for (const std::string& w : words) width = std::max(width, width_of(w, kTextSize));
    return width;
  }

  void extension(double u, double from_v, double to_y) {
    const Point from = frame_.at(u, from_v);
    pen_.line({from.x, from.y + (from_v < 0 ? 0.8 : 0.0)}, {from.x, to_y + 1}, Ink::thin);
  }

  /// From u1 to u2 with its words on the post's side of `before`.
  void dimension(const std::string& words, double u1, double u2, double before, double y) {
    pen_.measure(frame_.x(u1), frame_.x(u2), y);
    pen_.text({frame_.x(before, -4.5), y + 0.9}, words, kTextSize, frame_.to_post());
  }

  Pen& pen_;
  const Panel& panel_;
  const JointShape& shape_;
  const Frame& frame_;
  const Speech& say_;
};

}  // namespace

void draw_joint(Pen& pen, const Panel& panel, const Frame& frame, const Speech& say, double notes_top) {
  JointDrawing joint(pen, panel, frame, say);
  joint.parts();
  joint.notes(notes_top);
  joint.dimensions();
}

std::vector<PartPlace> part_places(const Panel& panel, const Frame& frame) {
  const JointShape& s = panel.shape;
  std::vector<PartPlace> out;
  const auto put = [&](JointPart part, double u, double v) { out.push_back({part, frame.at(u, v)}); };
  put(JointPart::post, -0.35 * s.post_length, 0.85 * s.post_radius);
  put(JointPart::key_end, s.gap + 0.8 * s.key_shown, 0.85 * s.key_radius);
  put(JointPart::gap, s.gap / 2, 0.7 * s.key_radius);
  if (s.rod) {
    put(JointPart::rod, s.gap + 0.3 * s.key_shown, 0.3 * s.rod_radius);
    put(JointPart::bore, s.gap + 0.55 * s.key_shown, s.bore_radius);
  }
  if (s.headed && !s.post_broken) {
    put(JointPart::head, s.first() + 0.5 * s.head_height, 0.6 * s.head_radius);
    put(JointPart::seat, -(s.post_length - s.seat), 0.85 * s.head_radius);
  }
  if (!s.point.empty()) put(JointPart::point, 0.3 * s.protrusion(), 0.3 * s.body_radius);
  if (!s.hole.empty()) {
    put(JointPart::mouth, s.gap, radius_at(s.hole, 0));
    if (s.floor_shown) put(JointPart::floor, s.gap + s.floor, 0.3 * radius_at(s.hole, s.floor - 1e-9));
    const JointView& v = *panel.view;
    if (rides(v) && !on_face(v) && measured(v.touch_depth)) {
      const double depth = std::clamp(mm_or_0(v.touch_depth), 0.0, s.key_shown);
      put(JointPart::contact, s.gap + depth, radius_at(s.hole, depth));
    }
  }
  std::stable_sort(out.begin(), out.end(), [&](const PartPlace& a, const PartPlace& b) {
    return frame.into_key(a.at.x) < frame.into_key(b.at.x);
  });
  return out;
}

void draw_numbered_joint(Pen& pen, const Panel& panel, const Frame& frame, const Speech& say, double top,
                         std::size_t first) {
  JointDrawing(pen, panel, frame, say).parts();
  constexpr double kCircle = 2.4;
  constexpr double kApart = 7;
  std::vector<PartPlace> places = part_places(panel, frame);
  // Numbers in a row over the joint, each as near over its part as the others let it.
  std::vector<double> x;
  double free = -frame.room().post + kCircle;
  for (const PartPlace& p : places) {
    x.push_back(std::max(free, frame.into_key(p.at.x)));
    free = x.back() + kApart;
  }
  double most = frame.room().key - kCircle;
  for (std::size_t i = x.size(); i-- > 0;) {
    x[i] = std::min(x[i], most);
    most = x[i] - kApart;
  }
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Point centre = {frame.from_face(x[i]), top + kCircle};
    const Point to = places[i].at;
    const double away = std::hypot(to.x - centre.x, to.y - centre.y);
    if (away > kCircle)
      pen.line({centre.x + (to.x - centre.x) * kCircle / away, centre.y + (to.y - centre.y) * kCircle / away},
               to, Ink::thin);
    // A line that ends inside an outline ends in a dot (ISO 128-22, from memory).
    pen.circle(to, 0.45, Ink::none, Fill::solid);
    pen.circle(centre, kCircle, Ink::line, Fill::paper);
    pen.text({centre.x, centre.y + 1}, std::to_string(first + i), kTextSize, Anchor::middle, true);
  }
}

double notes_height(const Panel& panel, const Frame& frame, const Speech& say) {
  Scene scratch;
  Pen pen(scratch);
  return JointDrawing(pen, panel, frame, say).notes(0);
}

double dimensions_height(const JointShape& shape) {
  const double rows = shape.rod || shape.point.empty() ? 1 : 4;
  return kPostFoot + 4 + rows * kDimensionStep;
}

bool rides(const JointView& view) { return view.rod || (!view.regime.empty() && view.regime != "nothing"); }

std::string riding(const JointView& view, const Speech& say) {
  if (view.rod) return say(Word::on_rod);
  if (!rides(view)) return {};
  const std::string& r = view.regime;
  if (r == "flank") return say(Word::on_flank);
  if (r == "rim") return say(Word::on_rim);
  if (r == "tip edge") return say(Word::on_tip_edge);
  if (r == "inner edge") return say(Word::on_inner_edge);
  if (r == "point edge") return say(Word::on_point_edge);
  if (r == "round") return say(Word::on_round);
  if (r == "floor") return say(Word::on_floor);
  if (r == "shoulder") return say(Word::on_shoulder);
  if (on_face(view)) return say(Word::on_face);
  return say(Word::on_other, r);
}

std::vector<std::string> riding_figures(const JointView& view, const JointShape& shape, const Speech& say) {
  std::vector<std::string> out;
  if (view.rod) {
    if (known(view.rod_radius)) out.push_back(say(Word::rod, say.bench(view.rod_radius * 2)));
    if (known(view.bore_radius)) out.push_back(say(Word::bore, say.bench(view.bore_radius * 2)));
    if (known(view.rod_radius) && known(view.bore_radius))
      out.push_back(say(Word::clearance, say.bench(view.bore_radius * 2 - view.rod_radius * 2)));
    return out;
  }
  if (!rides(view) || on_face(view) || shape.hole.empty()) return out;
  if (known(view.touch_length)) {
    out.push_back(say(Word::over, say.bench(view.touch_length)));
  } else if (known(view.touch_depth)) {
    out.push_back(say(Word::from_the_end, say.bench(view.touch_depth)));
  }
  return out;
}

std::string joined(const std::vector<std::string>& parts, std::string_view between) {
  std::string out;
  for (const std::string& part : parts) {
    if (!out.empty()) out += between;
    out += part;
  }
  return out;
}

}  // namespace hingeline::drawing
