/* A report as one page for a screen and a printer: words, a table, figures with words. */
#include <string.h>

#include "draw/svg_writer.h"
#include "omogon/words.h"
#include "show/paper/report.h"

/* Sizes in rem, so that a reader's own size of text counts; one column on a narrow
   screen. Colours: contrast on white is 17 for text, 8.9 for what is quiet. */
static const char style[] =
    "html{font:100%/1.45 \"DejaVu "
    "Sans\",Verdana,sans-serif;color:#1a1a1a;background:#fff}"
    "body{margin:0 auto;padding:1rem;max-width:60rem}"
    "h1{font-size:1.5rem;margin:0}h2{font-size:1.05rem;margin:1rem 0 .25rem}"
    "p{margin:.25rem 0}.quiet{color:#4a4a4a}"
    ".scroll{overflow-x:auto}"
    "table{border-collapse:collapse;width:100%;font-size:.85rem}"
    "caption{text-align:left;font-weight:bold;font-size:1.05rem;padding:.5rem 0 .25rem}"
    "th,td{text-align:left;vertical-align:top;padding:.2rem .5rem .2rem 0;"
    "border-bottom:1px solid #767676}"
    ".figures,.lists{display:flex;flex-wrap:wrap;gap:1rem}"
    "figure{margin:0;flex:1 1 20rem}figure svg,figure img{width:100%;height:auto;"
    "max-width:100%}"
    "figcaption{font-size:.8rem;color:#4a4a4a}"
    ".lists section{flex:1 1 20rem}ul{margin:.1rem 0;padding-left:1.1rem}"
    "li{font-size:.9rem}"
    ".disclaimer{border-top:2px solid #1a1a1a;margin-top:1rem;padding-top:.5rem}"
    "@page{size:A4;margin:10mm}"
    "@media print{html{font-size:52%}body{padding:0;max-width:none}"
    "figure,.lists section{flex-basis:45%}.scroll{overflow:visible}}";

static void add(GString *html, const char *text)
{
    g_autofree char *escaped = g_markup_escape_text(text ? text : "", -1);
    g_string_append(html, escaped);
}

/** <name attributes>text</name> */
static void element(GString *html, const char *name, const char *attributes,
                    const char *text)
{
    g_string_append_printf(html, "<%s%s>", name, attributes);
    add(html, text);
    g_string_append_printf(html, "</%s>\n", name);
}

static void add_head(GString *html, const struct omo_report *report)
{
    g_string_append(html, "<!DOCTYPE html>\n");
    g_string_append_printf(html, "<html lang=\"%s\">\n<head>\n<meta charset=\"UTF-8\">\n",
                           report->language);
    g_string_append(html,
                    "<meta name=\"viewport\" content=\"width=device-width, "
                    "initial-scale=1\">\n"
                    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src "
                    "'none'; style-src 'unsafe-inline'; img-src data:\">\n"
                    "<meta name=\"referrer\" content=\"no-referrer\">\n");
    element(html, "title", "", report->title);
    g_string_append_printf(html, "<style>%s</style>\n</head>\n", style);
}

static void add_table(GString *html, const struct omo_report *report)
{
    g_string_append(html, "<section class=\"scroll\" tabindex=\"0\" "
                          "aria-labelledby=\"reached\">\n<table>\n");
    element(html, "caption", " id=\"reached\"", report->table_title);
    g_string_append(html, "<thead>\n<tr>");
    for (int i = 0; i < OMO_REPORT_COLUMNS; i++)
        element(html, "th", " scope=\"col\"", report->head[i]);
    g_string_append(html, "</tr>\n</thead>\n<tbody>\n");
    for (guint k = 0; k < report->rows->len; k++) {
        char *const *cells = g_ptr_array_index(report->rows, k);
        g_string_append(html, "<tr>");
        for (int i = 0; i < OMO_REPORT_COLUMNS; i++)
            element(html, i ? "td" : "th", i ? "" : " scope=\"row\"", cells[i]);
        g_string_append(html, "</tr>\n");
    }
    g_string_append(html, "</tbody>\n</table>\n</section>\n");
}

/** In the file itself: a report fetches nothing. */
static void add_picture(GString *html, const struct omo_report_figure *f)
{
    g_autofree char *base64 = g_base64_encode(f->jpeg, f->jpeg_size);
    g_string_append_printf(html, "<img width=\"%.0f\" height=\"%.0f\" alt=\"", f->width,
                           f->height);
    add(html, f->title);
    g_string_append_printf(html, "\" src=\"data:image/jpeg;base64,%s\">\n", base64);
}

static void add_figures(GString *html, const struct omo_report *report)
{
    if (report->figures == 0)
        return;
    g_string_append(html, "<div class=\"figures\">\n");
    for (int i = 0; i < report->figures; i++) {
        const struct omo_report_figure *f = &report->figure[i];
        char name[16];
        g_snprintf(name, sizeof name, "figure%d", i + 1);
        g_string_append(html, "<figure>\n");
        if (f->figure)
            omo_svg_add(html, f->figure, name, f->title, f->text);
        else
            add_picture(html, f);
        element(html, "figcaption", "", f->text);
        g_string_append(html, "</figure>\n");
    }
    g_string_append(html, "</div>\n");
}

static void add_lists(GString *html, const struct omo_report *report)
{
    g_string_append(html, "<div class=\"lists\">\n");
    for (int i = 0; i < report->lists; i++) {
        const struct omo_report_list *list = &report->list[i];
        g_string_append(html, "<section>\n");
        element(html, "h2", "", list->title);
        g_string_append(html, "<ul>\n");
        for (guint k = 0; k < list->lines->len; k++)
            element(html, "li", "", g_ptr_array_index(list->lines, k));
        g_string_append(html, "</ul>\n</section>\n");
    }
    g_string_append(html, "</div>\n");
}

char *omo_report_html(const struct omo_report *report, size_t *size)
{
    GString *html = g_string_new(NULL);
    add_head(html, report);
    g_string_append(html, "<body>\n<main>\n");
    element(html, "h1", "", report->title);
    element(html, "p", " class=\"quiet\"", report->subtitle);
    add_table(html, report);
    add_figures(html, report);
    add_lists(html, report);
    element(html, "p", " class=\"disclaimer\"", report->disclaimer);
    g_string_append(html, "</main>\n</body>\n</html>\n");
    *size = html->len;
    return g_string_free(html, FALSE);
}
