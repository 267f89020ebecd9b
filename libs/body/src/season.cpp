#include "hingeline/body/season.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace hingeline::body {
namespace {

constexpr std::array kWarmths{Warmth::bench, Warmth::coldest, Warmth::warmest};
constexpr std::array kMoistures{Moisture::bench, Moisture::driest, Moisture::wettest};

double square(double x) { return x * x; }

}  // namespace

Measured<Length> change_to(const HingeLine& line, const Service& service, Air air) {
  const double span = line.span.value.raw();
  double change = 0;
  double variance = 0;
  if (air.warmth != Warmth::bench) {
    const TemperatureStep step =
        step_between(service.bench.value, air.warmth == Warmth::coldest ? service.coldest : service.warmest);
    const double body = line.body.expansion.value;
    const double key = line.key.expansion.value;
    change += end_play_change(body, key, line.span.value, step).raw();
    variance += square(span * step.raw()) *
                (square(line.body.expansion.standard()) + square(line.key.expansion.standard()));
    variance += square(span * (body - key) * service.bench.standard().raw());
    variance += square(line.span.standard().raw() * (body - key) * step.raw());
  }
  if (air.moisture == Moisture::driest && line.dries_by) {
    change -= line.dries_by->value.raw();
    variance += square(line.dries_by->standard().raw());
  } else if (air.moisture != Moisture::bench) {
    const double points = air.moisture == Moisture::driest ? -service.drier : service.wetter;
    change += span * (line.body.moisture.value - line.key.moisture.value) * points;
    variance += square(span * points) *
                (square(line.body.moisture.standard()) + square(line.key.moisture.standard()));
    variance +=
        square(line.span.standard().raw() * (line.body.moisture.value - line.key.moisture.value) * points);
  }
  return {Length::of(change), Length::of(2 * std::sqrt(variance)), Origin::read};
}

SeasonPlay season_play(Measured<Length> end_play, const HingeLine& line, const Service& service) {
  const auto in = [&](Air air) {
    const Measured<Length> change = change_to(line, service, air);
    const double standard = std::hypot(end_play.standard().raw(), change.standard().raw());
    return Measured<Length>{end_play.value + change.value, Length::of(2 * standard), Origin::read};
  };
  SeasonPlay out;
  out.bench = in({});
  out.coldest = in({Warmth::coldest, Moisture::bench});
  out.warmest = in({Warmth::warmest, Moisture::bench});
  out.least = out.most = out.bench;
  for (const Moisture m : kMoistures) {
    for (const Warmth w : kWarmths) {
      const Measured<Length> play = in({w, m});
      if (play.value < out.least.value) {
        out.least = play;
        out.least_in = {w, m};
      }
      if (play.value > out.most.value) {
        out.most = play;
        out.most_in = {w, m};
      }
    }
  }
  return out;
}

Sure below(Measured<Length> value, Length floor) {
  const Length doubt = value.standard() * 2;
  if (value.value + doubt < floor) return Sure::yes;
  return value.value - doubt < floor ? Sure::perhaps : Sure::no;
}

Sure above(Measured<Length> value, Length ceiling) {
  const Length doubt = value.standard() * 2;
  if (value.value - doubt > ceiling) return Sure::yes;
  return value.value + doubt > ceiling ? Sure::perhaps : Sure::no;
}

BenchWindow bench_window(Length least, Length most, const HingeLine& line, const Service& service) {
  Length fall;
  Length rise;
  for (const Moisture m : kMoistures) {
    for (const Warmth w : kWarmths) {
      const Length change = change_to(line, service, {w, m}).value;
      fall = std::max(fall, -change);
      rise = std::max(rise, change);
    }
  }
  return {least + fall, most - rise, fall, rise};
}

}  // namespace hingeline::body
