#include "hingeline/contact/profile.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <string>

namespace hingeline::contact {
namespace {

constexpr double kQuarterTurn = std::numbers::pi / 2;

tl::unexpected<Error> cannot_be(std::string what, std::string expected) {
  return fail(Fault::geometry, std::move(what), std::move(expected));
}

bool is_flank_angle(Angle a) { return is_finite(a) && a.raw() > 0 && a.raw() < kQuarterTurn; }

bool all_finite(std::initializer_list<Length> lengths) {
  return std::all_of(lengths.begin(), lengths.end(), [](Length l) { return is_finite(l); });
}

/// Radius where a hole's straight segment lies at `along`.
double on_segment(const Vertex& a, const Vertex& b, double along) {
  const double run = (b.along - a.along).raw();
  if (run <= 0) return b.radius.raw();
  return a.radius.raw() + (b.radius - a.radius).raw() * ((along - a.along.raw()) / run);
}

}  // namespace

/// Collects vertices and marks while a form is turned into a profile.
class ProfileBuilder {
 public:
  void add(double along, double radius) {
    if (!profile_.vertices_.empty()) along = std::max(along, profile_.vertices_.back().along.raw());
    const Vertex v{Length::of(along), Length::of(std::max(radius, 0.0))};
    if (profile_.vertices_.empty() || !(profile_.vertices_.back() == v)) profile_.vertices_.push_back(v);
  }

  /// Arc about (centre, 0) from angle `from` to `to` (radians, 0 = towards the tip, growing
  /// backwards). The ends lie on the arc; the vertices between stand out by as much as the chords'
  /// middles fall short, so both sides share the error.
  void add_arc(double centre, double radius, double from, double to) {
    // With interior vertices at radius (1 + d) a chord over angle w falls short by d when
    // cos(w / 2) = (1 - d) / (1 + d). An end chord starts on the arc, so it may span 0.85 w only.
    constexpr double kEndShare = 0.85;
    const double d = kRoundedWorstError.raw() / radius;
    const double full = d < 1 ? 2 * std::acos((1 - d) / (1 + d)) : kQuarterTurn;
    const double span = to - from;
    const auto chords = static_cast<int>(std::ceil(std::max(2.0, span / full + 2 * (1 - kEndShare))));
    const double w = span / (chords - 2 * (1 - kEndShare));
    const double c = std::cos(w / 2);
    const double out = 2 / (1 + c);
    profile_.round_begin_ = profile_.vertices_.size();
    const auto at = [&](double r, double cosine, double sine) { add(centre - r * cosine, r * sine); };
    at(radius, std::cos(from), std::sin(from));
    // From vertex to vertex by turning the last one on.
    const double turn_cosine = std::cos(w);
    const double turn_sine = std::sin(w);
    double cosine = std::cos(from + w * kEndShare);
    double sine = std::sin(from + w * kEndShare);
    for (int k = 1; k < chords; ++k) {
      at(radius * out, cosine, sine);
      const double turned = cosine * turn_cosine - sine * turn_sine;
      sine = sine * turn_cosine + cosine * turn_sine;
      cosine = turned;
    }
    at(radius, std::cos(to), std::sin(to));
    profile_.round_end_ = profile_.vertices_.size();
  }

  void begin_floor() { floor_begin_ = profile_.vertices_.size() - 1; }

  Profile finish(bool closed) {
    profile_.closed_ = closed;
    profile_.floor_begin_ = floor_begin_ ? *floor_begin_ : profile_.vertices_.size();
    return std::move(profile_);
  }

  static Profile with_vertices(const Profile& like, std::vector<Vertex> vertices,
                               std::size_t floor_vertices) {
    Profile p;
    p.vertices_ = std::move(vertices);
    p.closed_ = like.closed_;
    p.floor_begin_ = p.vertices_.size() - floor_vertices;
    return p;
  }

 private:
  Profile profile_;
  std::optional<std::size_t> floor_begin_;
};

Expected<Profile> Profile::from_vertices(std::span<const Vertex> vertices) {
  if (vertices.size() < 2 || vertices.size() > kMostVertices) {
    return cannot_be("a profile of " + std::to_string(vertices.size()) + " pairs", "2 to 4096 pairs");
  }
  for (std::size_t i = 0; i < vertices.size(); ++i) {
    const auto& v = vertices[i];
    const std::string name = "pair " + std::to_string(i + 1);
    if (!is_finite(v.along) || !is_finite(v.radius))
      return cannot_be(name + " is not a number", "finite lengths");
    if (v.radius.raw() < 0) return cannot_be(name + " has a negative radius", "radii of 0 or more");
    if (i == 0 && v.along.raw() != 0) return cannot_be("pair 1 does not start at 0", "the first distance 0");
    if (i > 0 && v.along < vertices[i - 1].along) {
      return cannot_be(name + " goes back along the axis", "distances that do not decrease");
    }
  }
  if (vertices.back().along.raw() <= 0)
    return cannot_be("the profile has no length", "a last distance above 0");
  Profile p;
  p.vertices_.assign(vertices.begin(), vertices.end());
  p.floor_begin_ = p.vertices_.size();
  return p;
}

Length Profile::radius_at(Length along) const {
  if (along <= vertices_.front().along) {
    Length r = vertices_.front().radius;
    for (const auto& v : vertices_) {
      if (v.along > vertices_.front().along) break;
      r = std::max(r, v.radius);
    }
    return r;
  }
  if (along > length()) return vertices_.back().radius;
  const auto first = std::lower_bound(vertices_.begin(), vertices_.end(), along,
                                      [](const Vertex& v, Length x) { return v.along < x; });
  if (first->along == along) {
    Length r = first->radius;
    for (auto it = first; it != vertices_.end() && it->along == along; ++it) r = std::max(r, it->radius);
    return r;
  }
  return Length::of(on_segment(*(first - 1), *first, along.raw()));
}

namespace {

Expected<Profile> make_cone_point(const PointForm& f) {
  if (!is_flank_angle(f.half_angle))
    return cannot_be("the point's half angle is out of range", "more than 0, less than 90 degrees");
  const double slope = tan(f.half_angle);
  const double length = f.length.raw();
  const double shank = f.shank_radius.raw();
  ProfileBuilder b;
  double along = 0;   // where the straight flank begins
  double radius = 0;  // and its radius there
  if (f.tip == TipShape::round) {
    const double r = f.tip_radius.raw();
    if (r <= 0) return cannot_be("a rounded tip without a radius", "a rounding radius above 0");
    along = r * (1 - sin(f.half_angle));
    radius = r * cos(f.half_angle);
    if (along >= length)
      return cannot_be("the tip's rounding is longer than the point", "a smaller rounding or a longer point");
    if (shank > 0 && shank < radius)
      return cannot_be("the shank is thinner than the tip's rounding", "a shank at least as wide");
    b.add_arc(r, r, 0, kQuarterTurn - f.half_angle.raw());
  } else {
    radius = f.tip_radius.raw();
    if (shank > 0 && shank < radius)
      return cannot_be("the tip is wider than the shank", "a tip no wider than the shank");
    if (f.tip == TipShape::worn) {
      const double w = f.wear_length.raw();
      if (w <= 0 || w > length)
        return cannot_be("the wear reaches beyond the point", "a wear length above 0, within the point");
      if (f.wear_depth.raw() < 0) return cannot_be("a negative wear", "a wear depth of 0 or more");
      if (f.wear_depth > f.tip_radius)
        return cannot_be("more wear than the tip has radius", "a wear depth within the tip's radius");
      b.add(0, radius - f.wear_depth.raw());
      along = w;
      radius += w * slope;
      if (shank > 0 && radius > shank)
        return cannot_be("the wear reaches into the shank", "a wear length within the flank");
    } else {
      b.add(0, radius);
    }
    if (f.tip == TipShape::worn) b.add(along, radius);
  }
  const double flank_end = shank > 0 ? along + (shank - radius) / slope : length;
  if (flank_end >= length) {
    b.add(length, radius + (length - along) * slope);
  } else {
    b.add(flank_end, shank);
    b.add(length, shank);
  }
  return b.finish(false);
}

Expected<Profile> make_ball_point(const PointForm& f) {
  const double r = f.ball_radius.raw();
  const double neck = f.neck_radius.raw();
  if (r <= 0) return cannot_be("a ball point without a ball", "a ball diameter above 0");
  if (neck < 0 || neck >= r)
    return cannot_be("the neck is not thinner than the ball", "a neck diameter below the ball's");
  const double end = r + std::sqrt((r - neck) * (r + neck));
  if (end > f.length.raw())
    return cannot_be("the ball is longer than the point", "a length of at least the ball");
  ProfileBuilder b;
  b.add_arc(r, r, 0, std::numbers::pi - std::asin(neck / r));
  b.add(f.length.raw(), neck);
  return b.finish(false);
}

Expected<Profile> make_parallel_point(const PointForm& f) {
  const double pin = f.pin_radius.raw();
  if (pin <= 0) return cannot_be("a parallel point without a diameter", "a pin diameter above 0");
  if (f.pin_length.raw() <= 0 || f.pin_length > f.length) {
    return cannot_be("the pin is longer than the point", "a pin length above 0, within the point");
  }
  if (f.shoulder_radius < f.pin_radius)
    return cannot_be("the shoulder is thinner than the pin", "a shoulder at least as wide");
  ProfileBuilder b;
  b.add(0, pin);
  b.add(f.pin_length.raw(), pin);
  if (f.pin_length < f.length) {
    b.add(f.pin_length.raw(), f.shoulder_radius.raw());
    b.add(f.length.raw(), f.shoulder_radius.raw());
  }
  return b.finish(false);
}

}  // namespace

Expected<Profile> make_point(const PointForm& f) {
  if (f.shape == PointShape::pairs) return Profile::from_vertices(f.pairs);
  if (!all_finite({f.length, f.tip_radius, f.shank_radius, f.wear_length, f.wear_depth, f.ball_radius,
                   f.neck_radius, f.pin_radius, f.pin_length, f.shoulder_radius})) {
    return cannot_be("a measure of the point is not a number", "finite lengths");
  }
  if (f.length.raw() <= 0) return cannot_be("the point has no length", "a length above 0");
  if (f.tip_radius.raw() < 0 || f.shank_radius.raw() < 0)
    return cannot_be("a negative radius", "radii of 0 or more");
  if (f.shape == PointShape::ball) return make_ball_point(f);
  if (f.shape == PointShape::parallel) return make_parallel_point(f);
  return make_cone_point(f);
}

Expected<Profile> make_hole(const HoleForm& f) {
  ProfileBuilder b;
  if (f.shape == HoleShape::pairs) {
    auto open = Profile::from_vertices(f.pairs);
    if (!open) return open;
    if (f.floor_pairs > f.pairs.size())
      return cannot_be("more floor than pairs", "at most as many floor pairs as pairs");
    const std::size_t wall = f.pairs.size() - std::max<std::size_t>(f.floor_pairs, 1);
    for (std::size_t i = 0; i < f.pairs.size(); ++i) {
      b.add(f.pairs[i].along.raw(), f.pairs[i].radius.raw());
      if (i == wall) b.begin_floor();
    }
    b.add(f.pairs.back().along.raw(), 0);
    return b.finish(true);
  }
  if (!all_finite({f.mouth_radius, f.depth, f.bell_depth}))
    return cannot_be("a measure of the hole is not a number", "finite lengths");
  if (f.mouth_radius.raw() <= 0) return cannot_be("the hole has no mouth", "a mouth diameter above 0");
  if (f.depth.raw() <= 0) return cannot_be("the hole has no depth", "a depth above 0");
  const double mouth = f.mouth_radius.raw();
  const double depth = f.depth.raw();
  b.add(0, mouth);

  // A flank from (along, radius) inwards, to the floor or to the axis, whichever is nearer.
  const auto flank_to_floor = [&](double along, double radius, double slope) {
    const double reach = slope > 0 ? along + radius / slope : std::numeric_limits<double>::infinity();
    const double end = std::min(depth, reach);
    b.add(end, reach <= depth ? 0.0 : radius - (end - along) * slope);
    b.begin_floor();
    b.add(end, 0);
  };

  if (f.shape == HoleShape::straight) {
    flank_to_floor(0, mouth, 0);
  } else if (f.shape == HoleShape::drilled) {
    if (!is_flank_angle(f.floor_half_angle))
      return cannot_be("the floor's half angle is out of range", "more than 0, less than 90 degrees");
    b.add(depth, mouth);
    b.begin_floor();
    b.add(depth + mouth / tan(f.floor_half_angle), 0);
  } else {
    if (!is_flank_angle(f.half_angle))
      return cannot_be("the hole's half angle is out of range", "more than 0, less than 90 degrees");
    double along = 0;
    double radius = mouth;
    if (f.shape == HoleShape::bell) {
      if (!is_flank_angle(f.bell_half_angle) || f.bell_half_angle <= f.half_angle) {
        return cannot_be("the bell-mouth is not wider than the hole's flank",
                         "a bell half angle above the flank's");
      }
      along = f.bell_depth.raw();
      radius = mouth - along * tan(f.bell_half_angle);
      if (along <= 0 || along >= depth || radius <= 0) {
        return cannot_be("the bell-mouth takes the whole hole",
                         "a bell depth above 0 that leaves a hole behind it");
      }
      b.add(along, radius);
    }
    flank_to_floor(along, radius, tan(f.half_angle));
  }
  return b.finish(true);
}

Angle fitting_taper(const PointForm& point, const HoleForm& hole) {
  if (point.shape == PointShape::cone) return point.half_angle;
  return hole.shape == HoleShape::cone || hole.shape == HoleShape::bell ? hole.half_angle : Angle{};
}

Profile ream(const Profile& hole, Angle half_angle, Length radius_at_face) {
  const double slope = tan(half_angle);
  const auto cone = [&](double along) { return radius_at_face.raw() - along * slope; };
  const auto old = hole.vertices();
  const std::size_t floor_begin = std::min(hole.floor_begin(), old.size());
  std::vector<Vertex> out;
  out.reserve(old.size() + 4);
  const auto push = [&](double along, double radius) {
    const Vertex v{Length::of(along), Length::of(radius)};
    if (out.empty() || !(out.back() == v)) out.push_back(v);
  };
  const auto above = [&](const Vertex& v) { return cone(v.along.raw()) - v.radius.raw(); };
  // Up to the floor's outer edge the wall becomes the upper of the two lines.
  const std::size_t wall = floor_begin < old.size() ? floor_begin + 1 : old.size();
  for (std::size_t i = 0; i < wall; ++i) {
    const double d = above(old[i]);
    if (i > 0) {
      const double before = above(old[i - 1]);
      if ((before > 0 && d < 0) || (before < 0 && d > 0)) {
        const double along =
            old[i - 1].along.raw() + (old[i].along - old[i - 1].along).raw() * (before / (before - d));
        push(along, on_segment(old[i - 1], old[i], along));
      }
    }
    push(old[i].along.raw(), std::max(old[i].radius.raw(), cone(old[i].along.raw())));
  }
  std::size_t floor_vertices = floor_begin < old.size() ? 1 : 0;
  // A flank that ran out on the axis had no floor: the reamer's own cone takes its place.
  const bool floorless = floor_begin + 1 == old.size() && old[floor_begin].radius == Length{};
  if (floorless && out.back().radius > Length{} && slope > 0) {
    out.back() = {radius_at_face / slope, Length{}};
    return ProfileBuilder::with_vertices(hole, std::move(out), floor_vertices);
  }
  // A floor that the reamer widened keeps its old edge, with a flat ring round it.
  if (floor_vertices > 0 && out.back().radius > old[floor_begin].radius) {
    out.push_back(old[floor_begin]);
    ++floor_vertices;
  }
  for (std::size_t i = wall; i < old.size(); ++i) {
    push(old[i].along.raw(), old[i].radius.raw());
    ++floor_vertices;
  }
  return ProfileBuilder::with_vertices(hole, std::move(out), floor_vertices);
}

Expected<Profile> face(const Profile& hole, Length amount) {
  if (!is_finite(amount) || amount.raw() < 0)
    return cannot_be("a facing amount that is not a length", "0 or more");
  const auto old = hole.vertices();
  const std::size_t floor_begin = hole.floor_begin();
  const Length wall_end = floor_begin < old.size() ? old[floor_begin].along : hole.length();
  if (amount >= wall_end) return cannot_be("facing would take the whole hole", "less than the hole's depth");
  std::vector<Vertex> out;
  out.push_back({Length{}, hole.radius_at(amount)});
  std::size_t floor_vertices = 0;
  for (std::size_t i = 0; i < old.size(); ++i) {
    if (old[i].along <= amount) continue;
    out.push_back({old[i].along - amount, old[i].radius});
    if (i >= floor_begin) ++floor_vertices;
  }
  return ProfileBuilder::with_vertices(hole, std::move(out), floor_vertices);
}

}  // namespace hingeline::contact
