// A cabinet's own page, and the card for its door.
#include "web/cabinet_page.h"

#include <algorithm>
#include <qrcodegen/qrcodegen.hpp>

#include "base/text.h"
#include "web/curve_ask.h"
#include "web/curve_page.h"
#include "web/handlers.h"
#include "web/page_words.h"
#include "web/site.h"

namespace clutchward {
namespace {

HtmlList probes_data(const CabinetView& cabinet, const PageWords& words) {
  HtmlList list;
  for (const ProbeView& probe : cabinet.probes) {
    const bool percent = probe.quantity == Quantity::humidity;
    const bool degrees =
        probe.quantity == Quantity::temperature || probe.quantity == Quantity::wet_bulb;
    std::string says = percent   ? milli_text(probe.value, 0) + " %"
                       : degrees ? words.temperature(probe.value)
                                 : milli_exact(probe.value);
    says += " " + std::string(name_of(probe.quantity));
    HtmlData each = line(says + (probe.fresh ? "" : ", old"));
    put(each, "name", probe.probe);
    put(each, "at", probe.at ? words.clock(*probe.at) : "time not known");
    list.push_back(std::move(each));
  }
  return list;
}

// First aid before where things are, line by line.
HtmlList guide_data(const CabinetView& cabinet) {
  HtmlList list;
  for (const auto& [title, text] :
       {std::pair{"First aid: ", &cabinet.first_aid}, {"Where things are: ", &cabinet.where}})
    for (std::size_t at = 0; at < text->size();) {
      const std::size_t end = std::min(text->find('\n', at), text->size());
      if (end > at) list.push_back(line((at == 0 ? title : "") + text->substr(at, end - at)));
      at = end + 1;
    }
  return list;
}

// What a telephone still reads from a card on a door (our own choice; far below what a code may
// hold, where the library throws).
constexpr std::size_t kCodeBytes = 512;

// A path for the dark squares of each row: no image, so nothing is fetched.
std::string qr_svg(const std::string& text) {
  using qrcodegen::QrCode;
  constexpr int kQuiet = 4;  // modules of margin (ISO/IEC 18004, from memory)
  const QrCode code = QrCode::encodeText(text.c_str(), QrCode::Ecc::MEDIUM);
  const int size = code.getSize();
  const std::string side = std::to_string(size + 2 * kQuiet);
  std::string svg =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + side + " " + side +
      "\" role=\"img\" aria-label=\"QR code of the address below\"><path fill=\"#000\" d=\"";
  for (int y = 0; y < size; ++y)
    for (int x = 0; x < size; ++x)
      if (code.getModule(x, y))
        svg += "M" + std::to_string(x + kQuiet) + " " + std::to_string(y + kQuiet) + "h1v1h-1z";
  return svg + "\"/></svg>";
}

std::optional<CabinetView> cabinet_at(const Site& site, const Request& request,
                                      std::string_view before, const Visitor& visitor,
                                      const Respond& respond) {
  const std::string id = request.path.substr(before.size());
  auto cabinet = site.door.cabinet(id);
  if (!cabinet)
    respond(said(404, "No such cabinet", "There is no cabinet \"" + printable(id, 64) + "\".", "/",
                 site, visitor));
  return cabinet;
}

std::string name_of_cabinet(const CabinetView& cabinet) {
  return cabinet.name.empty() ? cabinet.id : cabinet.name;
}

}  // namespace

namespace {

bool counts_turns(const Site& site, const std::string& cabinet) {
  if (!site.door.rules) return false;
  const auto rules = site.door.rules(cabinet);
  return std::any_of(rules.begin(), rules.end(),
                     [](const RuleInForce& each) { return each.rule.kind == RuleKind::turning; });
}

// The page, once its curve is there or has been given up.
void show_cabinet(Site& site, const CabinetView& cabinet, const Visitor& visitor,
                  const CurveView& curve, const CurvePlace& place, const Respond& respond) {
  const WatchView watch = site.door.watch();
  const PageWords words(watch);
  std::vector<BatchStanding> batches;
  for (const BatchView& batch : cabinet.batches)
    if (auto standing = site.door.batch(batch.id)) batches.push_back(std::move(*standing));
  const PageScene scene{watch,
                        site.gate.terms(),
                        visitor,
                        site.lately,
                        std::move(batches),
                        std::nullopt,
                        site.door.told,
                        counts_turns(site, cabinet.id)};
  HtmlData page;
  page.set("renews", true);
  page.set("plots", true);
  put(page, "title", name_of_cabinet(cabinet));
  put(page, "now", words.clock_and_zone(watch.now));
  // Without a script it stands still: a form that somebody fills in would be lost.
  put(page, "self",
      place.page + (curve.wanted.batch.empty() ? "" : "?batch=" + in_address(curve.wanted.batch)));
  HtmlList cards;
  cards.push_back(card_data(cabinet, scene, place.page));
  put_list(page, "cards", std::move(cards));
  put_curve(page, curve, place, watch);
  put_list(page, "probes", probes_data(cabinet, words));
  put_list(page, "rules", rules_data(site, cabinet, watch));
  put_list(page, "guide", guide_data(cabinet));
  constexpr std::size_t kLately = 30;
  put_happened(page, scene, cabinet.id, kLately);
  constexpr std::size_t kNext = 12;
  put_list(page, "next", next_data(scene, cabinet.id, kNext));
  const bool manage = visitor.may_do(Role::manage) && !visitor.form_token.empty();
  page.set("manage", manage);
  put(page, "cabinet", cabinet.id);
  put(page, "form_token", visitor.form_token);
  put(page, "to", place.page);
  if (manage) put_batch_forms(page, site, cabinet, watch);
  put(page, "card_link", "/cards/" + in_address(cabinet.id));
  respond(html(200, document(kCabinetTemplate, page, site.gate.terms(), visitor)));
}

}  // namespace

void get_cabinet_page(Site& site, const Request& request, const Visitor& visitor,
                      const Respond& respond) {
  const auto cabinet = cabinet_at(site, request, "/cabinets/", visitor, respond);
  if (!cabinet) return;
  const Wall now = site.door.now().wall;
  CurvePlace place{
      "/cabinets/" + in_address(cabinet->id), "cabinet=" + in_address(cabinet->id), {}};
  for (const BatchView& batch : cabinet->batches)
    if (batch.set) place.batches.push_back(batch.id);
  CurveView view = day_of(*cabinet, now);
  std::string key = "day/" + cabinet->id;
  const std::string batch(request.parameter("batch"));
  if (std::find(place.batches.begin(), place.batches.end(), batch) != place.batches.end())
    if (const auto standing = site.door.batch(batch))
      if (auto life = life_of(site, *standing, now)) {
        view = std::move(*life);
        key = "life/" + batch;
        place.query = "batch=" + in_address(batch);
      }
  // The cabinet is looked at again when the curve is there: a moment may have passed.
  fetch_curve(site, key, std::move(view),
              [&site, id = cabinet->id, visitor, place, respond](const CurveView& curve) {
                if (const auto present = site.door.cabinet(id))
                  return show_cabinet(site, *present, visitor, curve, place, respond);
                respond(sentence(404, "The cabinet is gone."));
              });
}

void get_card(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  const auto cabinet = cabinet_at(site, request, "/cards/", visitor, respond);
  if (!cabinet) return;
  const PageTerms& terms = site.gate.terms();
  std::string base = terms.page.url;
  if (base.empty())
    base = (request.encrypted ? "https://" : "http://") + std::string(request.header("Host"));
  const std::string address = base + "/cabinets/" + in_address(cabinet->id);
  if (address.size() > kCodeBytes)
    return respond(sentence(400, "The cabinet's address has " + std::to_string(address.size()) +
                                     " bytes; a code that a camera reads holds at most " +
                                     std::to_string(kCodeBytes) + "."));
  HtmlData page;
  put(page, "title", name_of_cabinet(*cabinet));
  put(page, "address", address);
  page.set("code", qr_svg(address));
  respond(html(200, document(kDoorTemplate, page, terms, visitor)));
}

}  // namespace clutchward
