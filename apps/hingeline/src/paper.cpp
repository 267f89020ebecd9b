#include "paper.h"

#include <fmt/format.h>

#include <filesystem>
#include <optional>
#include <set>

#include "endurance.h"
#include "files.h"
#include "hingeline/service/learned.h"
#include "progress.h"

namespace hingeline {
namespace {

using Failed = tl::unexpected<record::Errors>;

Failed failed(const Error& error) { return Failed(record::Errors{error}); }

Expected<service::PaperAsked> asked_of(const PaperLine& line) {
  auto out = service::paper_asked({line.kind, line.language, line.sheet, line.minutes, line.money});
  if (!out) return out;
  out->key = line.key;
  out->day = line.day.empty() ? day_of_today() : line.day;
  out->scale = line.scale;
  out->answers = line.answers;
  out->budget.quick = line.quick;
  out->threads = line.threads;
  return out;
}

/// A document's name without folders and ending; each once in a run.
std::string stem_of(const std::string& path, std::set<std::string>& taken) {
  const std::string stem = path == "-" ? "instrument" : std::filesystem::path(path).stem().string();
  std::string name = stem;
  for (int n = 2; !taken.insert(name).second; ++n) name = fmt::format("{}-{}", stem, n);
  return name;
}

}  // namespace

tl::expected<PapersMade, record::Errors> make_papers(const PaperLine& line) {
  auto asked = asked_of(line);
  if (!asked) return failed(asked.error());
  if (!line.folder.empty()) {
    if (auto made = make_folder(line.folder); !made) return failed(made.error());
  }
  std::optional<Bench> before;
  std::optional<service::InstrumentResult> was;
  if (!line.before.empty()) {
    auto read = read_bench(line.before, line.shop);
    if (!read) return Failed(read.error());
    before.emplace(std::move(*read));
    was.emplace(service::work_out(before->instrument, before->shop, line.threads));
  }
  std::optional<record::Ledger> ledger;
  if (!line.ledger.empty()) {
    const auto text = read_file(line.ledger);
    if (!text) return failed(text.error());
    auto read = record::read_ledger(*text, line.ledger);
    if (!read) return Failed(read.error());
    ledger.emplace(std::move(*read));
    asked->budget.ledger = &*ledger;
  }
  PapersMade out;
  std::vector<drawing::Scene> together;
  std::set<std::string> names;
  Progress progress("papers");
  std::string title;
  std::string author;
  for (std::size_t i = 0; i < line.files.size(); ++i) {
    auto bench = read_bench(line.files[i], line.shop);
    if (!bench) return Failed(bench.error());
    if (ledger) {
      const auto learned = service::learn(*ledger, bench->shop);
      if (!learned) return failed(learned.error());
      bench->shop = service::shop_with(bench->shop, *learned);
    }
    const auto result = service::work_out(bench->instrument, bench->shop, line.threads);
    asked->unit = line.unit.empty() ? result.units : line.unit == "in" ? LengthUnit::inch : LengthUnit::mm;
    std::optional<service::InstrumentCauses> causes;
    if (line.each_key && asked->kind == service::PaperKind::card)
      causes = service::paper_causes(result, line.threads);
    const service::PaperOf of{
        bench->instrument,
        bench->shop,
        result,
        was ? &*was : nullptr,
        {line.owner, line.complaint, line.came, line.promised, line.code, line.done, {}, {}, {}},
        causes ? &*causes : nullptr};
    std::vector<drawing::Scene> pages;
    const auto add = [&]() -> Expected<void> {
      auto made = service::paper_pages(of, *asked);
      if (!made) return tl::unexpected(made.error());
      for (drawing::Scene& page : *made) pages.push_back(std::move(page));
      return {};
    };
    if (line.each_key) {
      for (const service::KeyResult& key : result.keys) {
        if (key.problem) continue;
        asked->key = key.id;
        if (auto added = add(); !added) return failed(added.error());
      }
      asked->key.clear();
    } else if (auto added = add(); !added) {
      return failed(added.error());
    }
    out.pages += pages.size();
    title = service::paper_title(*asked, result.title);
    author = bench->shop.title;
    if (line.folder.empty()) {
      for (drawing::Scene& page : pages) together.push_back(std::move(page));
    } else {
      const auto bytes = papers::to_pdf(pages, title, author, asked->day, asked->language);
      if (!bytes) return failed(bytes.error());
      const auto path = std::filesystem::path(line.folder) /
                        fmt::format("{}-{}", stem_of(line.files[i], names), service::paper_file_name(*asked));
      if (auto wrote = write_file(path, *bytes); !wrote) return failed(wrote.error());
      out.files.push_back(path.string());
    }
    progress.show(i + 1, line.files.size());
  }
  if (!line.folder.empty()) return out;
  if (line.files.size() > 1) title = service::paper_title(*asked);
  auto bytes = papers::to_pdf(together, title, author, asked->day, asked->language);
  if (!bytes) return failed(bytes.error());
  if (line.output.empty() || line.output == "-") {
    out.bytes = std::move(*bytes);
  } else {
    if (auto wrote = write_file(line.output, *bytes); !wrote) return failed(wrote.error());
    out.files.push_back(line.output);
  }
  return out;
}

}  // namespace hingeline
