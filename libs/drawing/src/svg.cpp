#include "hingeline/drawing/svg.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <string_view>

#include "text.h"

namespace hingeline::drawing {
namespace {

struct InkLook {
  std::string_view colour;
  double width;
  std::string_view dashes;
};

InkLook look(Ink ink) {
  switch (ink) {
    case Ink::none:
      break;
    case Ink::line:
      return {"#111", 0.35, ""};
    case Ink::thin:
      return {"#333", 0.18, ""};
    case Ink::hidden:
      return {"#333", 0.25, "1.2 0.8"};
    case Ink::axis:
      return {"#333", 0.18, "4 0.8 0.6 0.8"};
    case Ink::contact:
      return {"#8a1515", 0.9, ""};
    case Ink::cut:
      return {"#8a1515", 0.15, ""};
  }
  return {"none", 0, ""};
}

/// A tile of parallel strokes; empty `tile` means a plain colour.
struct FillLook {
  std::string_view colour;
  std::string_view name;
  double side;
  double turn;
  std::string_view tile;
};

constexpr std::array kFills = {
    FillLook{"none", "", 0, 0, ""},
    FillLook{"#fff", "", 0, 0, ""},
    FillLook{"", "post", 1.8, 45, R"(<path d="M0.9 0V1.8" stroke="#444" stroke-width="0.18"/>)"},
    FillLook{"", "key", 1.1, -45, R"(<path d="M0.55 0V1.1" stroke="#444" stroke-width="0.18"/>)"},
    FillLook{"", "screw", 1.6, 70,
             R"(<path d="M0 0H1.6V1.6H0Z" fill="#ececec"/><path d="M0.5 0V1.6M0.9 0V1.6" stroke="#555" )"
             R"(stroke-width="0.12"/>)"},
    FillLook{"", "cut", 0.7, 45, R"(<path d="M0.35 0V0.7M0 0.35H0.7" stroke="#8a1515" stroke-width="0.2"/>)"},
    FillLook{"", "range", 1, 0, R"(<circle cx="0.5" cy="0.5" r="0.16" fill="#333"/>)"},
    FillLook{"", "bind", 1, 0, R"(<path d="M0.5 0V1" stroke="#111" stroke-width="0.4"/>)"},
    FillLook{"#dfe9e4", "", 0, 0, ""},
    FillLook{"#d8d8d8", "", 0, 0, ""},
    FillLook{"#111", "", 0, 0, ""},
    FillLook{"#8a1515", "", 0, 0, ""},
};

const FillLook& look(Fill fill) { return kFills[static_cast<std::size_t>(fill)]; }

/// To the micrometre, without zeros that say nothing.
std::string number(double mm) {
  std::string text = fmt::format("{:.3f}", mm);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string number(Length length) { return number(in_millimetres(length)); }

bool fits(Length v) { return is_finite(v) && abs(v) <= kLargestCoordinate; }
bool fits(const Spot& spot) { return fits(spot.x) && fits(spot.y); }

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : utf8_of(characters_of(text))) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
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
    for (std::size_t i = 0; i < kFills.size(); ++i) {
      const FillLook& f = kFills[i];
      if (f.tile.empty() || !used_[i]) continue;
      out += fmt::format(
          "<pattern id=\"{0}-{1}\" patternUnits=\"userSpaceOnUse\" width=\"{2}\" "
          "height=\"{2}\"{3}>{4}</pattern>\n",
          kNameMark, f.name, number(f.side),
          f.turn == 0 ? std::string() : fmt::format(" patternTransform=\"rotate({})\"", number(f.turn)),
          f.tile);
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
    if (f.tile.empty()) {
      out = fmt::format(" fill=\"{}\"", f.colour);
    } else {
      used_[static_cast<std::size_t>(fill)] = true;
      out = fmt::format(" fill=\"url(#{}-{})\"", kNameMark, f.name);
    }
    if (ink != Ink::none) {
      const InkLook l = look(ink);
      out += fmt::format(" stroke=\"{}\" stroke-width=\"{}\"", l.colour, number(l.width));
      if (!l.dashes.empty()) out += fmt::format(" stroke-dasharray=\"{}\"", l.dashes);
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
    body_ += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\"{}{} fill=\"#111\">{}</text>\n",
                         number(label.at.x), number(label.at.y), number(label.size),
                         kAnchors[static_cast<std::size_t>(label.anchor)],
                         label.bold ? " font-weight=\"bold\"" : "", escaped(label.text));
  }

  const Scene& scene_;
  std::string body_;
  std::array<bool, kFills.size()> used_{};
};

}  // namespace

std::string to_svg(const Scene& scene) { return Writer(scene).write(); }

}  // namespace hingeline::drawing
