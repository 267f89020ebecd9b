#include "hingeline/drawing/print.h"

#include <cairo/cairo-ft.h>
#include <cairo/cairo-pdf.h>
#include <cairo/cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numbers>
#include <string_view>
#include <utility>
#include <vector>

#include "for_keeping.h"
#include "hingeline/drawing/text.h"
#include "look.h"
#include "shaping.h"

namespace hingeline::drawing {
namespace {

constexpr double kPointsPerMillimetre = 72 / 25.4;

struct Free {
  void operator()(cairo_t* c) const { cairo_destroy(c); }
  void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
  void operator()(cairo_font_options_t* o) const { cairo_font_options_destroy(o); }
};
using Context = std::unique_ptr<cairo_t, Free>;
using Surface = std::unique_ptr<cairo_surface_t, Free>;

tl::unexpected<Error> refused(cairo_status_t status) {
  return fail(Fault::file,
              fmt::format("the drawing could not be written: {}", cairo_status_to_string(status)));
}

/// The faces, opened once for as long as the program runs. Cairo locks them itself.
struct Faces {
  FT_Library library = nullptr;
  std::array<FT_Face, kFaceCount> files{};
  std::array<cairo_font_face_t*, kFaceCount> faces{};
};

Expected<Faces> open_faces() {
  Faces out;
  if (FT_Init_FreeType(&out.library) != 0) return fail(Fault::file, "FreeType does not start");
  for (std::size_t i = 0; i < kFaceCount; ++i) {
    const FaceFile file = file_of(static_cast<Face>(i));
    if (FT_New_Face(out.library, file.path, 0, &out.files[i]) != 0)
      return fail(Fault::file, fmt::format("the font file {} cannot be read", file.path),
                  fmt::format("Debian's package {}", file.package));
    out.faces[i] = cairo_ft_font_face_create_for_ft_face(out.files[i], FT_LOAD_NO_HINTING);
  }
  return out;
}

const Expected<Faces>& faces() {
  static const Expected<Faces> kFaces = open_faces();
  return kFaces;
}

double part(std::string_view digits) {
  int value = 0;
  for (const char c : digits) value = 16 * value + (c <= '9' ? c - '0' : c - 'a' + 10);
  return value / (digits.size() == 1 ? 15.0 : 255.0);
}

const char* tag_of(Role role) {
  switch (role) {
    case Role::heading:
      return "H1";
    case Role::paragraph:
      break;
    case Role::table:
      return "Table";
    case Role::row:
      return "TR";
    case Role::header_cell:
      return "TH";
    case Role::cell:
      return "TD";
    case Role::figure:
      return "Figure";
  }
  return "P";
}

class Painter {
 public:
  Painter(cairo_t* to, const Scene& scene, const Faces& faces, bool tags)
      : c_(to), scene_(scene), faces_(faces), tags_(tags) {
    const std::unique_ptr<cairo_font_options_t, Free> options(cairo_font_options_create());
    cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(c_, options.get());
    cairo_set_line_join(c_, CAIRO_LINE_JOIN_ROUND);
  }

  void paint() {
    std::vector<const Mark*> open;
    std::size_t next = 0;
    for (std::size_t i = 0; i <= scene_.shapes.size(); ++i) {
      while (!open.empty() && open.back()->end <= i) {
        close(*open.back());
        open.pop_back();
      }
      if (i == scene_.shapes.size()) break;
      for (; next < scene_.marks.size() && scene_.marks[next].first <= i; ++next) {
        if (scene_.marks[next].end <= i) continue;
        begin(scene_.marks[next]);
        open.push_back(&scene_.marks[next]);
      }
      std::visit([this](const auto& s) { add(s); }, scene_.shapes[i]);
    }
  }

 private:
  void begin(const Mark& mark) const {
    if (tags_) cairo_tag_begin(c_, tag_of(mark.role), nullptr);
  }
  void close(const Mark& mark) const {
    if (tags_) cairo_tag_end(c_, tag_of(mark.role));
  }

  void colour(std::string_view hex) const {
    const std::size_t n = (hex.size() - 1) / 3;
    cairo_set_source_rgb(c_, part(hex.substr(1, n)), part(hex.substr(1 + n, n)),
                         part(hex.substr(1 + 2 * n, n)));
  }

  void add(const Path& path) {
    if (path.spots.size() < 2) return;
    for (const Spot& s : path.spots) {
      if (!fits(s)) return;
    }
    const Clip clip(*this, path.window);
    if (clip.nothing()) return;
    cairo_new_path(c_);
    for (const Spot& s : path.spots) cairo_line_to(c_, in_millimetres(s.x), in_millimetres(s.y));
    if (path.closed) cairo_close_path(c_);
    finish(path.ink, path.fill);
  }

  void add(const Circle& circle) {
    if (!fits(circle.centre) || !fits(circle.radius) || circle.radius <= Length()) return;
    const Clip clip(*this, circle.window);
    if (clip.nothing()) return;
    cairo_new_path(c_);
    round(circle.centre, circle.radius);
    finish(circle.ink, circle.fill);
  }

  void round(const Spot& centre, Length radius) const {
    cairo_arc(c_, in_millimetres(centre.x), in_millimetres(centre.y), in_millimetres(radius), 0,
              2 * std::numbers::pi);
    cairo_close_path(c_);
  }

  /// Shapes drawn while it lives are seen inside a window only.
  class Clip {
   public:
    Clip(const Painter& painter, const std::optional<std::size_t>& window) : painter_(painter) {
      if (!window || *window >= painter.scene_.windows.size()) return;
      const Window& w = painter.scene_.windows[*window];
      if (!fits(w.centre) || !fits(w.radius) || w.radius <= Length()) {
        nothing_ = true;
        return;
      }
      cairo_save(painter.c_);
      saved_ = true;
      cairo_new_path(painter.c_);
      painter.round(w.centre, w.radius);
      cairo_clip(painter.c_);
    }
    ~Clip() {
      if (saved_) cairo_restore(painter_.c_);
    }
    Clip(const Clip&) = delete;
    Clip& operator=(const Clip&) = delete;
    [[nodiscard]] bool nothing() const { return nothing_; }

   private:
    const Painter& painter_;
    bool saved_ = false;
    bool nothing_ = false;
  };

  void finish(Ink ink, Fill fill) const {
    const FillLook& f = look(fill);
    if (fill != Fill::none && f.plain()) {
      colour(f.colour);
      cairo_fill_preserve(c_);
    } else if (fill != Fill::none) {
      hatch(f);
    }
    if (const InkLook l = look(ink); l.width > 0) {
      colour(l.colour);
      cairo_set_line_width(c_, l.width);
      cairo_set_dash(c_, l.dashes.data(), static_cast<int>(l.dashes.size()), 0);
      cairo_set_line_cap(c_, ink == Ink::contact ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
      cairo_stroke_preserve(c_);
    }
    cairo_new_path(c_);
  }

  /// The current path filled with lines and dots themselves, not with a picture of them: so they stay sharp
  /// and do not depend on how a viewer repeats tiles.
  void hatch(const FillLook& f) const {
    std::unique_ptr<cairo_path_t, void (*)(cairo_path_t*)> outline(cairo_copy_path(c_), cairo_path_destroy);
    if (!f.colour.empty()) {
      colour(f.colour);
      cairo_fill_preserve(c_);
    }
    cairo_save(c_);
    cairo_clip(c_);
    cairo_rotate(c_, f.turn * std::numbers::pi / 180);
    double left = 0;
    double top = 0;
    double right = 0;
    double bottom = 0;
    cairo_clip_extents(c_, &left, &top, &right, &bottom);
    colour(f.stroke);
    cairo_set_line_width(c_, f.width);
    cairo_set_dash(c_, nullptr, 0, 0);
    cairo_set_line_cap(c_, CAIRO_LINE_CAP_BUTT);
    const auto each = [&](double from, double to, double offset, const auto& use) {
      for (double k = std::floor((from - offset) / f.side); k * f.side + offset <= to; ++k)
        use(k * f.side + offset);
    };
    for (const double at : f.upright) {
      if (at < 0) continue;
      each(left, right, at, [&](double x) {
        cairo_move_to(c_, x, top);
        cairo_line_to(c_, x, bottom);
      });
    }
    if (f.level >= 0) {
      each(top, bottom, f.level, [&](double y) {
        cairo_move_to(c_, left, y);
        cairo_line_to(c_, right, y);
      });
    }
    cairo_stroke(c_);
    if (f.dot > 0) {
      each(left, right, f.side / 2, [&](double x) {
        each(top, bottom, f.side / 2, [&](double y) {
          cairo_new_sub_path(c_);
          cairo_arc(c_, x, y, f.dot, 0, 2 * std::numbers::pi);
        });
      });
      cairo_fill(c_);
    }
    cairo_restore(c_);
    cairo_append_path(c_, outline.get());
  }

  void add(const Label& label) {
    const double size = in_millimetres(label.size);
    if (!fits(label.at) || !fits(label.size) || size <= 0 || label.text.empty()) return;
    const std::u32string letters = characters_of(label.text);
    if (needs_shaping(letters)) {
      if (const auto runs = shaped(letters, label.bold)) return put(label, *runs);
    }
    const std::string text = utf8_of(letters);
    choose(label.bold ? Face::bold : Face::plain, size);
    cairo_text_extents_t extents;
    cairo_text_extents(c_, text.c_str(), &extents);
    colour(kTextColour);
    cairo_move_to(c_, left_of(label, extents.x_advance), in_millimetres(label.at.y));
    cairo_show_text(c_, text.c_str());
    cairo_new_path(c_);
  }

  void choose(Face face, double size) const {
    cairo_set_font_face(c_, faces_.faces[static_cast<std::size_t>(face)]);
    cairo_set_font_size(c_, size);
  }
  /// Where a label of that width begins.
  static double left_of(const Label& label, double width) {
    const double at = in_millimetres(label.at.x);
    return label.anchor == Anchor::start ? at : label.anchor == Anchor::middle ? at - width / 2 : at - width;
  }

  void put(const Label& label, const std::vector<Run>& runs) const {
    const double size = in_millimetres(label.size);
    double width = 0;
    for (const Run& run : runs) {
      for (const Glyph& g : run.glyphs) width += g.advance * size;
    }
    double x = left_of(label, width);
    const double y = in_millimetres(label.at.y);
    colour(kTextColour);
    for (const Run& run : runs) {
      choose(run.face, size);
      std::vector<cairo_glyph_t> glyphs;
      for (const Glyph& g : run.glyphs) {
        glyphs.push_back({g.index, x + g.right * size, y - g.up * size});
        x += g.advance * size;
      }
      std::vector<cairo_text_cluster_t> clusters;
      for (const Cluster& c : run.clusters) clusters.push_back({c.bytes, c.glyphs});
      cairo_show_text_glyphs(
          c_, run.text.data(), static_cast<int>(run.text.size()), glyphs.data(),
          static_cast<int>(glyphs.size()), clusters.data(), static_cast<int>(clusters.size()),
          run.backward ? CAIRO_TEXT_CLUSTER_FLAG_BACKWARD : static_cast<cairo_text_cluster_flags_t>(0));
    }
    cairo_new_path(c_);
  }

  cairo_t* c_;
  const Scene& scene_;
  const Faces& faces_;
  bool tags_;
};

cairo_status_t append(void* closure, const unsigned char* data, unsigned length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

bool has_size(const Scene& scene) {
  return fits(scene.width) && fits(scene.height) && scene.width > Length() && scene.height > Length();
}

}  // namespace

Expected<std::string> to_pdf(std::span<const Scene> pages, const PdfFacts& facts) {
  if (pages.empty() || pages.size() > kMostPages)
    return fail(Fault::usage, fmt::format("{} pages", pages.size()), fmt::format("1 to {}", kMostPages));
  for (const Scene& page : pages) {
    if (!has_size(page)) return fail(Fault::usage, "a page without a size");
  }
  const Expected<Faces>& fonts = faces();
  if (!fonts) return tl::unexpected(fonts.error());
  std::string out;
  const Surface surface(cairo_pdf_surface_create_for_stream(append, &out, 1, 1));
  {
    // A size takes effect on the page that is begun next.
    cairo_pdf_surface_set_size(surface.get(), in_millimetres(pages.front().width) * kPointsPerMillimetre,
                               in_millimetres(pages.front().height) * kPointsPerMillimetre);
    const Context context(cairo_create(surface.get()));
    const bool tagged =
        std::any_of(pages.begin(), pages.end(), [](const Scene& page) { return !page.marks.empty(); });
    // Files of many papers have a part for each: an array of PDF/A-1 holds no more than 8191.
    const bool parts =
        std::any_of(pages.begin() + 1, pages.end(), [](const Scene& page) { return !page.goes_on; });
    const auto tag = [&](bool begin, const char* name) {
      if (!tagged) return;
      begin ? cairo_tag_begin(context.get(), name, nullptr) : cairo_tag_end(context.get(), name);
    };
    tag(true, "Document");
    for (std::size_t i = 0; i < pages.size(); ++i) {
      const Scene& page = pages[i];
      if (i > 0)
        cairo_pdf_surface_set_size(surface.get(), in_millimetres(page.width) * kPointsPerMillimetre,
                                   in_millimetres(page.height) * kPointsPerMillimetre);
      const bool last = i + 1 == pages.size();
      if (parts && (i == 0 || !page.goes_on)) tag(true, "Part");
      cairo_save(context.get());
      cairo_scale(context.get(), kPointsPerMillimetre, kPointsPerMillimetre);
      Painter(context.get(), page, *fonts, true).paint();
      cairo_restore(context.get());
      if (parts && (last || !pages[i + 1].goes_on)) tag(false, "Part");
      if (last) tag(false, "Document");
      cairo_show_page(context.get());
    }
    if (const cairo_status_t status = cairo_status(context.get()); status != CAIRO_STATUS_SUCCESS)
      return refused(status);
  }
  cairo_surface_finish(surface.get());
  if (const cairo_status_t status = cairo_surface_status(surface.get()); status != CAIRO_STATUS_SUCCESS)
    return refused(status);
  return for_keeping(out, facts);
}

Expected<std::string> to_png(const Scene& scene, double dots_per_mm) {
  if (!(dots_per_mm >= 0.1 && dots_per_mm <= 100) || !has_size(scene))
    return fail(Fault::usage, "a picture of no size", "0.1 to 100 dots a millimetre");
  const double across = std::ceil(in_millimetres(scene.width) * dots_per_mm - 1e-9);
  const double down = std::ceil(in_millimetres(scene.height) * dots_per_mm - 1e-9);
  if (across > kMostDots || down > kMostDots)
    return fail(Fault::usage, fmt::format("a picture of {} by {} dots", across, down),
                fmt::format("at most {} one way", kMostDots));
  const Expected<Faces>& fonts = faces();
  if (!fonts) return tl::unexpected(fonts.error());
  const Surface surface(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(across), static_cast<int>(down)));
  {
    const Context context(cairo_create(surface.get()));
    cairo_set_source_rgb(context.get(), 1, 1, 1);
    cairo_paint(context.get());
    cairo_scale(context.get(), dots_per_mm, dots_per_mm);
    Painter(context.get(), scene, *fonts, false).paint();
    if (const cairo_status_t status = cairo_status(context.get()); status != CAIRO_STATUS_SUCCESS)
      return refused(status);
  }
  std::string out;
  if (const cairo_status_t status = cairo_surface_write_to_png_stream(surface.get(), append, &out);
      status != CAIRO_STATUS_SUCCESS)
    return refused(status);
  return out;
}

}  // namespace hingeline::drawing
