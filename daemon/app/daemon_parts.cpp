// Building the daemon's parts and putting back what was kept.
#include <malloc.h>

#include <random>

#include "app/batch_standing.h"
#include "app/daemon.h"
#include "app/log.h"
#include "app/secret.h"
#include "notification/wake_table.h"
#include "reading/pattern.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Stamp stamp() noexcept { return {steady_now(), wall_now()}; }

// Unique per installation, and kept: two daemons with one id would cut each other off for ever.
std::string new_client_id() {
  std::random_device random;
  std::string id = "clutchward-";
  for (int i = 0; i < 12; ++i) id += "0123456789abcdef"[random() % 16];
  return id;
}

}  // namespace

Daemon::Daemon(DaemonOptions options, Settings settings, Zone zone, EventLoop& loop,
               Store::Start store)
    : options_(std::move(options)),
      settings_(std::move(settings)),
      zone_(std::move(zone)),
      loop_(loop),
      store_(std::move(store.store)),
      beats_(settings_) {
  if (store.kept.saved_at != Wall{}) last_saved_ = store.kept.saved_at;
  if (store.kept.alive_at && (!last_saved_ || *store.kept.alive_at > *last_saved_))
    last_saved_ = store.kept.alive_at;
  turn_ = store.kept.sequence;
  started_ = steady_now();
  absence_ = AbsenceLook(last_saved_, started_);
  const Moment now = time();
  engine_ = std::make_unique<Engine>(settings_, zone_, now, /*linked=*/false);
  engine_->keep_minutes(
      settings_.history.keep.has_value());  // records that it lacks are not let go
  announcer_ = std::make_unique<Announcer>(settings_, zone_);
  faults_ = std::make_unique<ServiceFaults>(*announcer_, settings_.site);
  restore(store.kept, now);
  reader_ = std::make_unique<HistoryReader>(options_.state + "/history.db");
  papers_ = std::make_unique<HistoryReader>(options_.state + "/history.db");
  start_history();
  settings_.forget_batches();
  malloc_trim(0);  // reading the configuration and the state took several times what is kept

  rings_.configure(settings_);
  forget_subscriptions(now);
  outward_ = std::make_unique<Outward>(wall_now);
  outward_->configure(settings_);
  replies_.configure(settings_);
  outside_ = std::make_unique<Outward>(wall_now);
  outside_->configure(beats_.channels(settings_.site));
  web_ = std::make_unique<WebServer>(web_door());
  if (const auto refusal = web_->serve_control(options_.state))
    spdlog::error("the keeper's command cannot reach us: {}", refusal->why);
  web_->restore(store.kept.entries);
  recall_events();
  serve_page(now);
  mqtt_ = std::make_unique<MqttClient>(mqtt_options(), inbox_, stamp);
  for (const int descriptor :
       {inbox_.descriptor(), store_->event(), outward_->ready_fd(), outside_->ready_fd(),
        web_->descriptor(), replies_.ready_fd(), reader_->descriptor(), papers_->descriptor()})
    loop_.watch(descriptor);
  mqtt_->start();
}

Daemon::~Daemon() {
  for (const int descriptor :
       {inbox_.descriptor(), store_->event(), outward_->ready_fd(), outside_->ready_fd(),
        web_->descriptor(), replies_.ready_fd(), reader_->descriptor(), papers_->descriptor()})
    loop_.forget(descriptor);
}

void Daemon::restore(const Kept& kept, Moment now) {
  std::vector<std::string> findings = kept.findings;
  for (std::string& each : engine_->restore(kept.entries, kept.saved_at))
    findings.push_back(std::move(each));
  announcer_->restore(kept.entries, kept.saved_at, now);
  for (const auto& [key, tree] : kept.entries)
    if (key == "site/client") client_id_ = std::string(tree.get("id"));
  restore_daily(kept);
  restore_faults(kept, now);
  replies_.restore(kept.entries);
  for (const auto& [key, tree] : kept.entries)
    if (key == "site/tasks")
      tasks_.restore(tree);
    else if (key == kTestKey)
      test_round_.restore(tree);
  if (client_id_.empty()) {
    client_id_ = new_client_id();
    Tree tree = Tree::map();
    tree.add("id", client_id_);
    own_changes_.push_back({"site/client", std::move(tree)});
  }
  if (!findings.empty()) {
    std::string all;
    for (const std::string& finding : findings) {
      spdlog::error("state: {}", printable(finding, 500));
      all += finding + "\n";
    }
    faults_->once("PART OF THE STATE WAS DAMAGED",
                  "It was set aside, and the rest is kept:\n" + all,
                  "Look at every cabinet: an alarm may be forgotten", Urgency::high, now);
  }
  engine_->begin();
}

MqttOptions Daemon::mqtt_options() const {
  const BrokerSettings& broker = settings_.broker;
  MqttOptions options;
  options.url = broker.url;
  options.client_id = broker.client_id.empty() ? client_id_ : broker.client_id;
  options.user = broker.user;
  options.password = read_secret(broker.password_file);
  options.ca_file = broker.tls.ca_file;
  options.certificate_file = broker.tls.certificate_file;
  options.key_file = broker.tls.key_file;
  options.base = broker.base;
  options.filters = filters();
  return options;
}

std::vector<std::string> Daemon::filters() const {
  std::vector<std::string> all;
  for (const TopicPattern& pattern : settings_.patterns) all.push_back(topic_filter(pattern));
  for (std::string& filter : rings_.filters()) all.push_back(std::move(filter));
  return all;
}

WebDoor Daemon::web_door() {
  WebDoor door;
  door.views = [this](std::size_t from, std::size_t most) { return engine_->views(from, most); };
  door.briefs = [this](std::size_t from, std::size_t most) { return engine_->briefs(from, most); };
  door.cabinet = [this](const std::string& id) { return engine_->view(id); };
  door.command = [this](Command command, std::function<void(Reply)> give) {
    answers_.push_back({carry_out(command, /*retained=*/false, time()),
                        [give = std::move(give)](const Reply& reply) { give(reply); }});
  };
  door.watch = [this] { return watch_view(); };
  door.batch_ids = [this] { return engine_->records(); };
  door.batch = [this](const std::string& id) { return batch_standing(*engine_, id); };
  door.rules = [this](const std::string& id) { return rules_of(id); };
  door.profiles = [this] { return engine_->profiles(); };
  door.curve = [this](CurveWanted wanted, std::function<void(Curve)> done) {
    ask_curve(std::move(wanted), std::move(done));
  };
  door.report = [this](ReportWanted wanted, std::function<void(Report)> done) {
    ask_report(std::move(wanted), std::move(done));
  };
  door.events = [this](EventsWanted wanted, std::function<void(Events)> done) {
    ask_events(std::move(wanted), std::move(done));
  };
  door.commit = [this](std::function<void(std::string)> done) { commit_history(std::move(done)); };
  door.wakes = [this] { return wake_table(settings_); };
  door.told = [this](const AlarmView& alarm) { return announcer_->told(alarm, time()); };
  door.now = [this] { return clutchward::now(wall_trusted_); };
  return door;
}

// A profile's layer is told with the file that holds it.
std::vector<RuleInForce> Daemon::rules_of(const std::string& cabinet) const {
  std::vector<RuleInForce> rules = engine_->rules_of(cabinet);
  for (RuleInForce& rule : rules)
    for (RuleOrigin& origin : rule.from)
      for (const auto& [id, file] : options_.profile_files)
        if (origin.layer == "profile " + id || origin.layer.starts_with("profile " + id + ","))
          origin.layer += " (" + file.substr(file.rfind('/') + 1) + ")";
  return rules;
}

WatchView Daemon::watch_view() const {
  const Moment now = clutchward::now(wall_trusted_);
  WatchView view;
  view.version = CLUTCHWARD_VERSION;
  view.site = settings_.site;
  view.zone = zone_;
  view.show = settings_.show;
  view.now = now.wall;
  view.clock_trusted = wall_trusted_;
  view.uptime = now.steady - started_;
  view.broker_linked = linked_;
  view.broker_since = now.wall - (now.steady - std::max(linked_changed_at_, started_));
  view.broker_trouble = broker_trouble_;
  const StoreStatus store = store_->status();
  view.store_writable = store.writable;
  view.store_trouble = store.writable ? store.checkpoint_trouble : store.trouble;
  view.channels = deliveries_.view(settings_, announcer_->waiting());
  for (const ChannelWatch& channel : view.channels) view.waiting_messages += channel.waiting;
  view.intake = engine_->counts();
  view.alarms = engine_->of_cabinet("");
  view.faults = faults_->view(now);
  if (!beats_.all().empty()) view.beats_withheld = beats_.withheld();
  return view;
}

}  // namespace clutchward
