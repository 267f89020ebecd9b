#include "hingeline/drawing/svg.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <string_view>

#include "hingeline/drawing/text.h"
#include "look.h"
#include "xml.h"

namespace hingeline::drawing {
namespace {

/// To the micrometre, without zeros that say nothing.
std::string number(double mm) {
  std::string text = fmt::format("{:.3f}", mm);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string number(Length length) { return number(in_millimetres(length)); }

/// What stands in a pattern's square.
std::string tile(const FillLook& f) {
  const std::string side = number(f.side);
  std::string out;
  if (!f.colour.empty()) out += fmt::format("<path d=\"M0 0H{0}V{0}H0Z\" fill=\"{1}\"/>", side, f.colour);
  std::string lines;
  for (const double at : f.upright) {
    if (at >= 0) lines += fmt::format("M{} 0V{}", number(at), side);
  }
  if (f.level >= 0) lines += fmt::format("M0 {}H{}", number(f.level), side);
  if (!lines.empty())
    out +=
        fmt::format("<path d=\"{}\" stroke=\"{}\" stroke-width=\"{}\"/>", lines, f.stroke, number(f.width));
  if (f.dot > 0)
    out += fmt::format("<circle cx=\"{0}\" cy=\"{0}\" r=\"{1}\" fill=\"{2}\"/>", number(f.side / 2),
                       number(f.dot), f.stroke);
  return out;
}

/// Put into names until the body is known and can be turned into a short name of its own.
constexpr std::string_view kNameMark = "\x01";

/// FNV-1a, 32 bits.
std::uint32_t digest(std::string_view text) {
  std::uint32_t hash = 2166136261U;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 16777619U;
  return hash;
}

class Writer {
 public:
  explicit Writer(const Scene& scene) : scene_(scene) {}

  std::string write() {
    for (const Shape& shape : scene_.shapes) std::visit([this](const auto& s) { add(s); }, shape);
    std::string out = head() + defs() + body_ + "</svg>\n";
    const std::string name = fmt::format("d{:08x}", digest(out));
    for (std::size_t at = out.find(kNameMark); at != std::string::npos; at = out.find(kNameMark, at))
      out.replace(at, kNameMark.size(), name);
    return out;
  }

 private:
  std::string head() const {
    const std::string width = number(fits(scene_.width) ? scene_.width : Length());
    const std::string height = number(fits(scene_.height) ? scene_.height : Length());
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{0}mm\" height=\"{1}mm\" "
        "viewBox=\"0 0 {0} {1}\" role=\"img\" aria-labelledby=\"{2}-title {2}-desc\" "
        "font-family=\"DejaVu Sans, sans-serif\">\n<title id=\"{2}-title\">{3}</title>\n"
        "<desc id=\"{2}-desc\">{4}</desc>\n",
        width, height, kNameMark, escaped(scene_.title), escaped(scene_.description));
  }

  std::string defs() const {
    std::string out;
    for (std::size_t i = 0; i < kFillCount; ++i) {
      const FillLook& f = fill_looks()[i];
      if (f.plain() || !used_[i]) continue;
      out += fmt::format(
          "<pattern id=\"{0}-{1}\" patternUnits=\"userSpaceOnUse\" width=\"{2}\" "
          "height=\"{2}\"{3}>{4}</pattern>\n",
          kNameMark, f.name, number(f.side),
          f.turn == 0 ? std::string() : fmt::format(" patternTransform=\"rotate({})\"", number(f.turn)),
          tile(f));
    }
    for (std::size_t i = 0; i < scene_.windows.size(); ++i) {
      const Window& w = scene_.windows[i];
      if (!fits(w.centre) || !fits(w.radius)) continue;
      out += fmt::format("<clipPath id=\"{}-window{}\"><circle cx=\"{}\" cy=\"{}\" r=\"{}\"/></clipPath>\n",
                         kNameMark, i, number(w.centre.x), number(w.centre.y), number(w.radius));
    }
    return out.empty() ? out : "<defs>\n" + out + "</defs>\n";
  }

  std::string paint(Ink ink, Fill fill, const std::optional<std::size_t>& window) {
    const FillLook& f = look(fill);
    std::string out;
    if (f.plain()) {
      out = fmt::format(" fill=\"{}\"", f.colour);
    } else {
      used_[static_cast<std::size_t>(fill)] = true;
      out = fmt::format(" fill=\"url(#{}-{})\"", kNameMark, f.name);
    }
    if (ink != Ink::none) {
      const InkLook l = look(ink);
      out += fmt::format(" stroke=\"{}\" stroke-width=\"{}\"", l.colour, number(l.width));
      if (!l.dashes.empty()) {
        std::string dashes;
        for (const double d : l.dashes) dashes += (dashes.empty() ? "" : " ") + number(d);
        out += fmt::format(" stroke-dasharray=\"{}\"", dashes);
      }
      if (ink == Ink::contact) out += " stroke-linecap=\"round\"";
      out += " stroke-linejoin=\"round\"";
    }
    if (window && *window < scene_.windows.size())
      out += fmt::format(" clip-path=\"url(#{}-window{})\"", kNameMark, *window);
    return out;
  }

  void add(const Path& path) {
    if (path.spots.size() < 2) return;
    std::string d;
    for (const Spot& spot : path.spots) {
      if (!fits(spot)) return;
      d += fmt::format("{}{} {}", d.empty() ? "M" : "L", number(spot.x), number(spot.y));
    }
    if (path.closed) d += "Z";
    body_ += fmt::format("<path d=\"{}\"{}/>\n", d, paint(path.ink, path.fill, path.window));
  }

  void add(const Circle& circle) {
    if (!fits(circle.centre) || !fits(circle.radius) || circle.radius <= Length()) return;
    body_ += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>\n", number(circle.centre.x),
                         number(circle.centre.y), number(circle.radius),
                         paint(circle.ink, circle.fill, circle.window));
  }

  void add(const Label& label) {
    if (!fits(label.at) || !fits(label.size) || label.text.empty()) return;
    constexpr std::array<std::string_view, 3> kAnchors = {"", " text-anchor=\"middle\"",
                                                          " text-anchor=\"end\""};
    body_ += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\"{}{} fill=\"{}\">{}</text>\n",
                         number(label.at.x), number(label.at.y), number(label.size),
                         kAnchors[static_cast<std::size_t>(label.anchor)],
                         label.bold ? " font-weight=\"bold\"" : "", kTextColour, escaped(label.text));
  }

  const Scene& scene_;
  std::string body_;
  std::array<bool, kFillCount> used_{};
};

}  // namespace

std::string to_svg(const Scene& scene) { return Writer(scene).write(); }

}  // namespace hingeline::drawing
