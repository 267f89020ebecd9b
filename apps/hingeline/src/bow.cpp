#include "bow.h"

#include <fmt/format.h>
#include <cmath>

#include "hingeline/record/document.h"

namespace hingeline {
namespace {

using service::BowKey;
using service::BowResult;
using service::PostsKey;
using service::Worked;

std::string capital(std::string text) {
  if (!text.empty() && text.front() >= 'a' && text.front() <= 'z')
    text.front() = static_cast<char>(text.front() - 32);
  if (!text.empty() && text.back() != '.') text += '.';
  return text;
}

const std::string& name_of(const std::string& name, const std::string& id) {
  return name.empty() ? id : name;
}

std::string explained(const Worked& w, LengthUnit unit, const Terminal& t) {
  std::string out;
  bool first = true;
  for (const std::string& line : service::explain(w, unit)) {
    out += t.paragraph(first ? "  " : "    ", line, 6);
    first = false;
  }
  return out;
}

/// As the other tables show a key's lengths.
std::string bench(const Worked& w, LengthUnit unit) {
  std::string text = service::show(belief::FigureValue{w.value, w.plus_minus(), 0, 0, false}, unit);
  text.resize(text.rfind(' '));  // the heading has the unit
  return text;
}

std::string body_part(const BowResult& r, LengthUnit unit, const Terminal& t) {
  std::string out;
  for (const Said& w : r.words) out += t.paragraph("", capital(w.in(unit)), 0);
  if (r.read) {
    out += "\n";
    out += t.paragraph(
        "  ",
        fmt::format("curvature {}, sagitta {} over {}{}", service::show(r.read->curvature, unit),
                    service::show(r.read->sagitta, unit),
                    show_length(r.read->bow.to - r.read->bow.from, unit, unit == LengthUnit::mm ? 0 : 1),
                    r.read->radius ? ", radius " + service::show(*r.read->radius, unit) : ""),
        4);
  }
  return out;
}

std::string key_table(const BowResult& r, LengthUnit unit, const Terminal& t) {
  const std::string in = unit == LengthUnit::mm ? ", mm" : ", in";
  Table table({"key", "end play" + in, "by the bend", "straightened", "and then", "explained"});
  bool any = false;
  for (const BowKey& k : r.keys) {
    if (k.problem || !k.placed || k.effect.code.empty()) continue;
    any = true;
    const bool within = k.remains.value >= k.low.raw() && k.remains.value <= k.high.raw();
    std::string then = within                           ? "within its window"
                       : k.remains.value > k.high.raw() ? "loose"
                       : k.remains.value < 0            ? "binds"
                                                        : "tight";
    Tone tone = within ? Tone::good : Tone::attention;
    if (k.contradicts) {
      then += ", contradicts";
      tone = Tone::bad;
    }
    table.row({{name_of(k.name, k.id), Tone::strong},
               bench(k.end_play, unit),
               bench(k.effect, unit),
               bench(k.remains, unit),
               {then, tone},
               !k.share ? "-"
               : k.share->value < 0
                   ? "no, the other way"
                   : fmt::format("{:.0f} ± {:.0f} %", k.share->value, k.share->plus_minus())});
  }
  return any ? "\n" + table.text(t, 5) : std::string();
}

std::string posts_part(const PostsKey& k, LengthUnit unit, const Terminal& t) {
  std::string out =
      t.paragraph(t.paint(name_of(k.name, k.id), Tone::strong) + ": ", k.words.in(unit) + ".", 2);
  for (const Said& c : k.corrections) out += t.paragraph("  - ", c.in(unit), 4);
  return out;
}

}  // namespace

std::string bow_report(const BowResult& r, LengthUnit unit, const Terminal& t, const std::string& only_key) {
  std::string out = t.paint(r.title, Tone::strong) + ": the body and its posts\n\n";
  out += body_part(r, unit, t);
  if (only_key.empty()) {
    out += key_table(r, unit, t);
  } else {
    if (r.read) out += "\n" + explained(r.read->curvature, unit, t);
    for (const BowKey& k : r.keys) {
      if (k.id != only_key) continue;
      out += "\n";
      if (k.problem) {
        out += t.paragraph("", record::describe(*k.problem), 2);
        continue;
      }
      if (!k.placed || k.effect.code.empty()) continue;
      out += t.paragraph(t.paint(name_of(k.name, k.id), Tone::strong) + ": ", k.words.in(unit) + ".", 2);
      out += explained(k.effect, unit, t);
      if (k.share) out += explained(*k.share, unit, t);
      out += explained(k.remains, unit, t);
    }
  }
  bool heading = false;
  for (const PostsKey& k : r.posts) {
    if (!only_key.empty() && k.id != only_key) continue;
    if (!heading) out += "\nPosts\n";
    heading = true;
    out += posts_part(k, unit, t);
    if (!only_key.empty()) {
      out +=
          explained(k.effect, unit, t) + explained(k.upper_tilt, unit, t) + explained(k.lower_tilt, unit, t);
      if (k.force) out += explained(*k.bow, unit, t) + explained(*k.force, unit, t);
    }
  }
  if (r.read || heading) {
    out += "\n" +
           t.paragraph(
               "", "Straighten the body first, then the posts, then fit: each moves what comes after it.", 0);
  }
  if (!r.notes.empty()) out += "\n";
  for (const Said& n : r.notes) out += t.paragraph("  ", n.in(unit), 4);
  return out;
}

}  // namespace hingeline
